"""One screen: `box`."""
