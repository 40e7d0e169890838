"""The whole way of a lot as a picture and as tables, and the sources with their recall lists."""
