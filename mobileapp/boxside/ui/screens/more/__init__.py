"""More: the places that have no button on the bar."""
