"""What a run leaves behind: one file a format, and what the commands print."""
