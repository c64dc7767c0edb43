"""One screen: `ahead`."""
