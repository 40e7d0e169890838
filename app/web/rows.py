"""Rows of a form, of which some may stay empty: bowls, trays, parts, readings."""

from typing import Any

from wtforms import FieldList, Form, FormField

from app.language import N_
from app.web.fields import MassField, text_line


class RowForm(Form):
    """One row; it counts as filled when anything but its choices was typed."""

    typed_fields: tuple[str, ...] = ()

    @property
    def is_filled(self) -> bool:
        """Did somebody type into this row?"""
        return any((self[name].typed or "").strip() for name in self.typed_fields)

    def validate(self, *args: Any, **kwargs: Any) -> bool:
        """An empty row is no fault."""
        return True if not self.is_filled else bool(super().validate(*args, **kwargs))


class Rows(FieldList):
    """A list of rows; the ledger sees only the filled ones, and problems find their way back."""

    def filled(self) -> list[FormField]:
        """The rows that somebody filled, in order."""
        return [entry for entry in self.entries if entry.form.is_filled]

    def grow_to(self, count: int) -> None:
        """Show at least this many rows."""
        while len(self.entries) < count:
            self.append_entry()


class BowlForm(RowForm):
    """One bowl on the scale."""

    typed_fields = ("gross",)
    bowl = text_line(N_("Bowl"))
    gross = MassField(N_("Gross"))
    tare = MassField(N_("Tare"), is_optional=True)


def bowl_rows(label: str, least: int = 1, description: str = "") -> Rows:
    """A field for a tally of bowls."""
    return Rows(FormField(BowlForm), label=label, min_entries=least, description=description)
