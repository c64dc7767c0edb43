"""One screen: `away`."""
