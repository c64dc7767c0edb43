"""One screen: `pairings`."""
