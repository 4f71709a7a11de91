"""Who is signed in where, and signing somebody out everywhere else."""
