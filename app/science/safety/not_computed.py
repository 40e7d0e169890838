"""What this book never works out, and what to do instead; one page shows it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class NotComputed:
    """One question that gets no number, and where the answer is."""

    question: str
    instead: str


_GUIDE = "Use the current official guide."
_READ = "Read the centre with a thermometer."
_ASK = "Ask your health office or doctor."

NOT_COMPUTED: tuple[NotComputed, ...] = (
    NotComputed(
        "Is it safe to eat, yes or no, or how many per cent", "Read the gates and cautions."
    ),
    NotComputed("A use-by date from a quality model", "Model dates are about quality only."),
    NotComputed("How likely botulism or any other illness is", "Keep to the gates."),
    NotComputed("Canning times", _GUIDE),
    NotComputed("Doses of nitrite or salt", _GUIDE),
    NotComputed("Smoking schedules", _GUIDE),
    NotComputed("Extra days in the fridge for a vacuum", "A vacuum adds none."),
    NotComputed(
        "Freezing that makes wild meat or fish safe to eat raw, beyond the printed table",
        "Cook it.",
    ),
    NotComputed("How far to trim for lead", "No distance is known to be enough."),
    NotComputed(
        "The risk of chronic wasting disease from region or age", "Have the animal tested."
    ),
    NotComputed("Cooked, from oven setting, time, colour or shelf temperature", _READ),
    NotComputed("The centre's temperature from readings of surface or air", _READ),
    NotComputed("Safety from smell, looks or taste", "Never taste to decide."),
    NotComputed(
        "Thinning of a positive test or an allergen (only 2 %)", "It stays, however little."
    ),
    NotComputed("RAW taken away by age", "Only a cook step takes it away."),
    NotComputed("A default that hides what is not known", "Unknown is shown as unknown."),
    NotComputed("Failed cooling put right by reheating", "Discard it."),
    NotComputed("Poultry below 165 °F (73.9 °C) for longer", "Cook it to 165 °F (73.9 °C)."),
    NotComputed("Whether a label, a hunt or a sale is legal", "Ask your authority."),
    NotComputed("Cooking times between the rows of a table", "The next stricter row counts."),
    NotComputed("Doses for children, in pregnancy or in illness", _ASK),
)
