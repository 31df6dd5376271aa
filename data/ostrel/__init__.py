"""The invented Ostrel cars and the parts for them, one file a subject."""
