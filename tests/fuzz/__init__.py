"""Bad input: whatever a file, a sentence or a request holds, it is read or clearly refused."""
