"""Pages of cutting, by topic."""
