"""One module for each piece of work; `_post` is the only writer."""
