"""The stations of an evening on a screen in the hall."""
