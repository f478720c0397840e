"""Do the test pieces agree with the prediction.

`reading.read` a record, then `evidence.evidence` says what it shows; `update` carries it into the
evaluation, and `planning` plans the next test.
"""
