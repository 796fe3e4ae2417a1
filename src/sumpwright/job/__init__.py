"""Reads the job, shop and readings files into the stages' inputs; lists every fault at once."""
