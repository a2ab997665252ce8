"""What people hold in their hands: tables for a terminal and drawings to scale. Knows core, nothing else."""
