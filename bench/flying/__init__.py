"""Flights with known truth: a flight dynamics library flown by a human-like pilot, and a second, kinematic generator.

For tests, benchmarks and the demo only; nothing here is shipped in airwork. With `bench/` on the path: `import flying`.
"""
