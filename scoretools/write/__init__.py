"""From values to tables, pages and pictures: every function returns what it made."""
