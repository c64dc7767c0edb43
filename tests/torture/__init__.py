"""Long runs that try to lose what was saved: power cuts, kills, disks that refuse."""
