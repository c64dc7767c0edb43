"""One screen: `round`."""
