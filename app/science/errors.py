"""What the science says when it cannot answer; the numbers are attributes, the words are ours."""


class ScienceError(ValueError):
    """Base of every refusal of the science."""


class OutOfRange(ScienceError):
    """An argument lies outside the range in which an equation or a table holds.

    Attributes: name of the argument, value given, low and high limit (None = open), unit.
    """

    def __init__(
        self, name: str, value: float, low: float | None, high: float | None, unit: str = ""
    ) -> None:
        """Keep the numbers; the message is for developers."""
        self.name, self.value, self.low, self.high, self.unit = name, value, low, high, unit
        super().__init__(f"{name} = {value:g} {unit} is outside {low} to {high} {unit}".strip())


class Impossible(ScienceError):
    """No answer exists, such as a blend fatter than its fattest part.

    Attributes: reason in a few words, nearest reachable value (None when there is none).
    """

    def __init__(self, reason: str, nearest: float | None = None) -> None:
        """Keep the reason and the nearest value that could be reached."""
        self.reason, self.nearest = reason, nearest
        super().__init__(reason)


class NotCovered(ScienceError):
    """The question lies outside this model on purpose: canning, curing, fermenting."""

    def __init__(self, subject: str) -> None:
        """Name the subject, for the sentence that refers to the current official guide."""
        self.subject = subject
        super().__init__(f"{subject}: not covered here, use the current official guide")


class NotInTable(ScienceError, KeyError):
    """A packaged table has no such row.

    Attributes: table in a few words, key that was asked for.
    """

    def __init__(self, table: str, key: str) -> None:
        """Keep the table and the key."""
        self.table, self.key = table, key
        super().__init__(f"{table} has no {key}")

    def __str__(self) -> str:
        """Without the quotes that KeyError puts around its text."""
        return f"{self.table} has no {self.key}"


def require(name: str, value: float, low: float | None, high: float | None, unit: str = "") -> None:
    """Raise OutOfRange unless low ≤ value ≤ high (None = open end); NaN never passes."""
    if not (low is None or value >= low) or not (high is None or value <= high) or value != value:
        raise OutOfRange(name, value, low, high, unit)
