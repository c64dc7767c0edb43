"""One screen: `add_box`."""
