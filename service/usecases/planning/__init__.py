"""The work of days: lists, assignments, routes, vans, the weeks ahead, first dates of units taken over."""
