"""The board report: its content once, and two ways to set it, PDF and HTML."""
