"""The commands, the questions in the terminal, and JSON: words in, words and exit codes out."""
