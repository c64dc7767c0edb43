"""The functional core: values in, values out; no clock, no files, no SQL, no screen."""
