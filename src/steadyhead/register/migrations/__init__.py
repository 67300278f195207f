"""Steps from each released form of the tables to the next."""
