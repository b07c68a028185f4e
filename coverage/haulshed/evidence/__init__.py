"""Evidence for a fire-insurance rating: figures against a published schedule's, never a class."""
