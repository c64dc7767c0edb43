"""One screen: `founders`."""
