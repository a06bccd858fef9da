"""Pages for a partner or lender, a workbook, and the stress set behind them."""
