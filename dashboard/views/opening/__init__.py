"""The figures of today, part by part, as the page Today asks for them."""
