"""Pages of production beyond the one next entry: quality, stressing procedures, mix and cure, stock, plan."""
