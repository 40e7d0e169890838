"""Which published values the tests under tests/published compare with ours, as they run."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from tests.published.row import Published

HERE = Path(__file__).parent
# Exact mathematics or a library's answer; everything else was printed by somebody.
_COMPUTED = ("SciPy", "CoolProp", "oxygen balance", "geometry", "definition")


@dataclass(frozen=True, slots=True)
class Comparison:
    """One published value, and the one or two numbers of ours that stood beside it."""

    module: str  # test_vapour
    test: str
    row: Published
    ours: tuple[float, ...]  # a value, or the low and high end of a range

    @property
    def is_printed(self) -> bool:
        """Was the value printed, rather than computed by a library or by exact mathematics?"""
        return not self.row.source.startswith(_COMPUTED)

    @property
    def off(self) -> float:
        """Distance from print as a share of the tolerance; 0 for a range or an exact match."""
        if len(self.ours) > 1 or self.ours[0] == self.row.expected:
            return 0.0
        return abs(self.ours[0] - self.row.expected) / max(self.row.tolerance, 1e-12)


@dataclass
class Record:
    """A pytest plugin: notes every agreeing comparison, and the cases that made none."""

    comparisons: list[Comparison] = field(default_factory=list)
    inline: Counter[tuple[str, str]] = field(default_factory=Counter)
    _item: pytest.Item | None = None
    _seen: set[tuple[object, ...]] = field(default_factory=set)

    def pytest_runtest_setup(self, item: pytest.Item) -> None:
        """Remember the case, and count it as one without a row until it compares one."""
        self._item = item
        self.inline[self._place()] += 1
        self._compared = False

    def _place(self) -> tuple[str, str]:
        assert self._item is not None
        return self._item.path.stem, getattr(self._item, "originalname", self._item.name)

    def note(self, row: Published, *ours: float) -> None:
        """Note what a test compared; a row meets the same place only once."""
        if self._item is None:
            return
        if not self._compared:
            self.inline[self._place()] -= 1
            self._compared = True
        key = (self._place()[0], row.source, row.where, row.expected, self._item.name)
        if key not in self._seen:
            self._seen.add(key)
            self.comparisons.append(Comparison(*self._place(), row, tuple(map(float, ours))))

    @property
    def printed(self) -> list[Comparison]:
        """Comparisons with printed values."""
        return [item for item in self.comparisons if item.is_printed]


def recorded() -> Record:
    """Run every test under tests/published and return what was compared.

    Raises:
        RuntimeError: a test failed; a table of failures would be worth nothing.
    """
    record = Record()

    def noting(judge: Callable[..., bool]) -> Callable[..., bool]:
        def judged(row: Published, *ours: Any) -> bool:
            answer = judge(row, *ours)
            if answer:
                record.note(row, *ours)
            return answer

        return judged

    with pytest.MonkeyPatch.context() as patch:
        for name in ("agrees", "lies_within"):
            patch.setattr(Published, name, noting(getattr(Published, name)))
        code = pytest.main(
            ["-o", "addopts=", "-p", "no:terminal", "-p", "no:cacheprovider", str(HERE)],
            plugins=[record],
        )
    if code != pytest.ExitCode.OK:
        raise RuntimeError(f"the tests under {HERE.name} ended with {code}; run them first")
    return record
