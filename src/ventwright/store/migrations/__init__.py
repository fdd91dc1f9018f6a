"""Steps from one form of the tables to the next; Alembic runs them, each in one transaction."""
