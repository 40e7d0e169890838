"""What a page says when there is no page."""

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
