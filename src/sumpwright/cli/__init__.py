"""The command line: a thin door onto flow."""
