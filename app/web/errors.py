"""What a page says when there is no page, and what a form says that could not be written."""

from app.ledger.engines import Hindrance

HINDRANCES = {  # status, heading, sentence
    Hindrance.BUSY: (
        503,
        "Somebody else is writing",
        "Somebody else is writing just now, and it takes long. Nothing was written; send it once "
        "more.",
    ),
    Hindrance.FULL: (
        507,
        "No room on the disk",
        "The disk of the server is full. Nothing was written. Make room there, then send it once "
        "more.",
    ),
    Hindrance.UNWRITABLE: (
        503,
        "The ledger cannot be written",
        "The server is not let to write the data file: its disk or folder is read-only, belongs "
        "to somebody else, or fails. Nothing was written. Mend that, then send it once more.",
    ),
    Hindrance.AWAY: (
        503,
        "The database does not answer",
        "The database server of the ledger does not answer. Nothing was written. Wait until it is "
        "back, then send it once more.",
    ),
}
_WORDS = {
    400: (
        "Not understood",
        "The request was incomplete. Nothing was written. Go back and try again.",
    ),
    404: (
        "Nothing here",
        "There is no such lot or page. Check the code: its last character tells.",
    ),
    405: ("Not this way", "This page cannot be asked for in that way. Nothing was written."),
    413: (
        "Too much at once",
        "That form is larger than any entry needs, so it was not read. Nothing was written; go "
        "back and what you typed is still there.",
    ),
    500: (
        "A fault of ours",
        "Something went wrong on our side. Nothing was half-written: an entry is written whole or "
        "not at all. Go back; what you typed is still there.",
    ),
}


def words_for(status: int) -> tuple[str, str]:
    """Heading and sentence of a problem page."""
    return _WORDS.get(status, _WORDS[400 if status < 500 else 500])
