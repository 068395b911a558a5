"""From an analysis to today's practice: difficulty, patches, ladders, schedule."""
