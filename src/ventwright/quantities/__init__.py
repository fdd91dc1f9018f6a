"""Units of the trade at the edge, SI inside; problems and shared words."""
