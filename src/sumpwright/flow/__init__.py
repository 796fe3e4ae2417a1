"""Runs the stages in order and remembers results by their inputs."""
