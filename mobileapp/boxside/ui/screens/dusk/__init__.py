"""One screen: `dusk`."""
