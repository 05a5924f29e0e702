"""Benchmarks: our own code beside general-purpose libraries on the same work, in one run."""
