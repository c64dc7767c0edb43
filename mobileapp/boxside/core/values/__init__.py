"""Values that every room may hold: ids, moments, stages, events, lines, due tasks, views, errors."""
