"""Commands of a coordinator: a shed checked, covered, assigned, bought for together, and a letter to each member."""
