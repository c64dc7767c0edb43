"""Season: what happened, in pictures and numbers."""
