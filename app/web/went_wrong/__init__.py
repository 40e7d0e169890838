"""Something went wrong: told, judged food by food, and written."""
