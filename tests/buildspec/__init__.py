"""The build for phones, as far as it can be checked without one."""
