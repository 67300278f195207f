"""Files of loggers: how one is read, said in words with its doubts; taken in, undone, read back, judged."""
