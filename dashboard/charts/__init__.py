"""The charts, named as the page is: tidy numbers in, a figure out. No page calls in here."""
