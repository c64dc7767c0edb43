"""One screen: `start`."""
