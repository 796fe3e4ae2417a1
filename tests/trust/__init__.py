"""The whole tool against hostile input, killed processes and other machines."""
