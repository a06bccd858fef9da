"""The figures of today, part by part, as the page Our farm asks for them."""
