"""One file per form in which an answer is shown."""
