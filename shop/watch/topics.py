"""What alerts are about, for leaving some of it out of one's mail: the first part of a concern's key."""

TOPICS = {
    "stock": "Stock and orders",
    "cutting": "Styli and bookings",
    "duties": "Care that falls due",
    "room": "Gas, readings and room air",
    "safety": "Hazards",
    "morning": "The morning check",
    "record": "The record of who did what",
    "training": "Who may do what",
    "people": "Accounts and signing in",
    "watch": "Mail that could not be sent",
}
