"""One module a question. Each takes lofted surfaces and plain values and returns a frozen result."""
