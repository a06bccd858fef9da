"""What is kept: the open plan, other plans, the diary; as the page Plans and diary shows it."""
