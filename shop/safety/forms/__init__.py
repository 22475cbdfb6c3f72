"""The forms of safety, by topic; each is named after its action."""
