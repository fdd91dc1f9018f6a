"""Other ways to the same answers, for the benchmarks to be measured against."""
