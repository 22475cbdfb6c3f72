"""The demo room's hazards: what its people keep, write down and report, by topic."""
