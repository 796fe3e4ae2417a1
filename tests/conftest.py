"""Every test of a number says where the number comes from (see tests/house)."""
