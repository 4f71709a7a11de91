"""The classes: where and when they meet, single evenings, holidays, stand-ins, visitors."""
