"""What safety reads of more than one row, by topic."""
