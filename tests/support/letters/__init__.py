"""What the tests of the letters share: files read, the raw record, and the judge of both."""
