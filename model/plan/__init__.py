"""What the user states: the valley, the farm, the strategies, and where things stand."""
