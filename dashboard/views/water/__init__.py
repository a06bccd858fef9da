"""The water of the seasons ahead, part by part, as the page This season shows it on asking."""
