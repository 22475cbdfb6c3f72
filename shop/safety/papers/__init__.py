"""What safety prints: sheets, the binder of them, labels for containers."""
