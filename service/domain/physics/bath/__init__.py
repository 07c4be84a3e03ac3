"""The glycol bath: heat content, load and pull-down."""
