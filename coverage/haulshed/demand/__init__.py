"""Needed flow: one module a published method, and one that picks by the scenario."""
