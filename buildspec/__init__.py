"""How Boxside is built for phones, and the checks of it that need no phone."""
