"""The demo catalogue: an invented maker, invented cars and invented parts."""
