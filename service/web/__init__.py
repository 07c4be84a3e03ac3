"""The pages: server-rendered HTML whose forms work without scripts, one more client of the use cases."""
