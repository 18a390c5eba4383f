"""The desk: a page on this computer, beside the spreadsheet, that does what the commands do."""
