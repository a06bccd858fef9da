"""What each page says, as data and words: named as the page is. No page calls in here."""
