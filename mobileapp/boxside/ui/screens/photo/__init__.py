"""One screen: `photo`."""
