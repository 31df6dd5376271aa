"""Side calculations of the trade, as pure functions."""
