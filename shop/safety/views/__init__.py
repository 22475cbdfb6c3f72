"""The pages of safety, by topic."""
