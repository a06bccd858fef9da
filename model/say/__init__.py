"""Words and numbers as a person meets them: made once, used by command line, page and paper."""
