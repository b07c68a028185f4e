"""The sheet for a crew: one page a property, its words and maps once, set for binder or phone."""
