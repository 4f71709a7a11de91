"""The drills, one card each: for whoever is new, and from wherever a drill is named."""
