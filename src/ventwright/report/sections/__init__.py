"""One function for each section of the report: findings in, words and tables out."""
