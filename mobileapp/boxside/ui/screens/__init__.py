"""The screens, one folder each; the shell finds them by name."""
