"""One screen: `surroundings`."""
