"""One screen: `line`."""
