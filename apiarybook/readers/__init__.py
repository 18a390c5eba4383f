"""Any file a person may send, read into raw cells with their places; knows no bee and no layout."""
