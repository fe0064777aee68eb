"""Benchmarks: figures are printed and compared by ratios within one run; nothing here asserts a time."""
