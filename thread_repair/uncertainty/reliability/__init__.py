"""What is the probability that it strips before the screw fails, and what drives it.

A `model.JointModel` holds numbers and distributions; `sampling.simulate`,
`sampling.rare_events`, `engagement.required_engagement` and `drivers` each answer one question
about it. Importing them imports `scipy.stats`, which takes longer than a joint to evaluate:
import them on use.
"""
