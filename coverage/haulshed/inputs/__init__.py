"""From a district's files to checked inputs; one file a format. Nothing else reads files."""
