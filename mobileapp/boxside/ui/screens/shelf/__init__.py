"""One screen: `shelf`."""
