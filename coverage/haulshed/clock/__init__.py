"""The clock: one incident played from dispatch on, by the rules of play in DEVELOPERS.md."""
