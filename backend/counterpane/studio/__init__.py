"""What happens to a piece or an attempt from the file to the log, one transaction each."""
