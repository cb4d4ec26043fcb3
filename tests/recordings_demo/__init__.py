"""The recordings in `recordings_demo/`: how they were made, and that each still gives the findings it says."""
