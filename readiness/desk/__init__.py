"""The front desk: the jobs of a studio's year, and the first steps of a new one."""
