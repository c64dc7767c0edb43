"""Widgets that more than one screen is made of."""
