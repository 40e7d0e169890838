"""What a page says when there is no page, and what a form says that could not be written."""

from app.language import N_
from app.ledger.engines import Hindrance

HINDRANCES = {  # status, heading, sentence
    Hindrance.BUSY: (
        503,
        N_("Somebody else is writing"),
        N_(
            "Somebody else is writing just now, and it takes long. Nothing was written; send it "
            "once more."
        ),
    ),
    Hindrance.FULL: (
        507,
        N_("No room on the disk"),
        N_(
            "The disk of the server is full. Nothing was written. Make room there, then send it "
            "once more."
        ),
    ),
    Hindrance.UNWRITABLE: (
        503,
        N_("The ledger cannot be written"),
        N_(
            "The server is not let to write the data file: its disk or folder is "
            "read-only, belongs "
            "to somebody else, or fails. Nothing was written. Mend that, then send it once more."
        ),
    ),
    Hindrance.AWAY: (
        503,
        N_("The database does not answer"),
        N_(
            "The database server of the ledger does not answer. Nothing was written. Wait until "
            "it is back, then send it once more."
        ),
    ),
}
_WORDS = {
    400: (
        N_("Not understood"),
        N_("The request was incomplete. Nothing was written. Go back and try again."),
    ),
    404: (
        N_("Nothing here"),
        N_("There is no such lot or page. Check the code: its last character tells."),
    ),
    405: (
        N_("Not this way"),
        N_("This page cannot be asked for in that way. Nothing was written."),
    ),
    413: (
        N_("Too much at once"),
        N_(
            "That form is larger than any entry needs, so it was not read. Nothing was written; go "
            "back and what you typed is still there."
        ),
    ),
    500: (
        N_("A fault of ours"),
        N_(
            "Something went wrong on our side. Nothing was half-written: an entry is written "
            "whole or not at all. Go back; what you typed is still there."
        ),
    ),
}


def words_for(status: int) -> tuple[str, str]:
    """Heading and sentence of a problem page."""
    return _WORDS.get(status, _WORDS[400 if status < 500 else 500])
