"""What safety checks before it writes, by topic."""
