"""One screen: `growth`."""
