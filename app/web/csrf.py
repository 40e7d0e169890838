"""The token of bare forms, such as an undo button: made and checked as in every other form."""

from werkzeug.datastructures import ImmutableMultiDict

from app.web.fields import EntryForm


def csrf_token() -> str:
    """The token's value for a hidden field."""
    return EntryForm().csrf_token.current_token  # type: ignore[attr-defined,no-any-return]


def is_ours(sent: "ImmutableMultiDict[str, str]") -> bool:
    """Does a bare form carry the right token?"""
    form = EntryForm(sent)
    token = form.csrf_token  # type: ignore[attr-defined]
    return bool(token.validate(form))
