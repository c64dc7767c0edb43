"""One screen: `card`."""
