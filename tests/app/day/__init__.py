"""The sample day: three phones driven through the built app, their hand-ins kept in sample_fleet/day/."""
