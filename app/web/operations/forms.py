"""The form of each operation, by its verb."""

from collections.abc import Callable

from app.ledger.words import OperationKind
from app.web.operations.base import OperationForm
from app.web.operations.cooking import BlanchForm, ChillForm, CookForm, DrainForm, SkimForm
from app.web.operations.keeping import (
    DiscardForm,
    EatForm,
    GiveForm,
    MeasureForm,
    MoveForm,
    OpenForm,
)
from app.web.operations.preparing import BlendForm, GrindForm, PortionForm, ThawForm, TrimForm

FORMS: dict[OperationKind, Callable[..., OperationForm]] = {
    form.verb: form
    for form in (
        ThawForm,
        TrimForm,
        GrindForm,
        BlendForm,
        PortionForm,
        CookForm,
        ChillForm,
        SkimForm,
        DrainForm,
        BlanchForm,
        MoveForm,
        OpenForm,
        MeasureForm,
        EatForm,
        GiveForm,
        DiscardForm,
    )
}
