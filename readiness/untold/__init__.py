"""What hurt at a head or a neck and no family was told of, for directors, at once."""
