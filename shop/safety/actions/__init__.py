"""Everything that safety writes, by topic."""
