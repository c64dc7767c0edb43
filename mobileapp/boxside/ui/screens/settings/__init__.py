"""One screen: `settings`."""
