"""The river and its rules, part by part, as the pages Our valley and Record ask for them."""
