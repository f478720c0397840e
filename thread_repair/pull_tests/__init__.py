"""Do the test pieces agree with the prediction."""
