"""What differs between phones and desktops, each part behind one small port."""
