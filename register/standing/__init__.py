"""Standing: tasks and findings together, judged for flying, with every reason behind it."""
