"""One screen: `prey`."""
