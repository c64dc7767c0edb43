"""One screen: `occupied`."""
