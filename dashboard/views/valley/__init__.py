"""The river and its rules, part by part, as the page Valley and record asks for them."""
