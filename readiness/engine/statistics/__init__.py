"""Statistics about a studio: agreement of coaches, time in stage, hand contacts, intervals."""
