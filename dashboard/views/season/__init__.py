"""Parts of the page of this season."""
