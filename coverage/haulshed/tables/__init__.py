"""One file a table: its columns with unit and meaning, its type, its check."""
