"""Keep: archives, what comes in from elsewhere, and whether all is what was written."""
