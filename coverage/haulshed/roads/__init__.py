"""Roads: ways become segments, segments become minutes. The only part that knows metres."""
