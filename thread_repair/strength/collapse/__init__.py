"""What do rigorous bounds say of the strip load: limit analysis of the real profile.

The question is that of plasticity alone: what load pulls a rigid screw out of a rigid, perfectly
plastic parent, given five diameters and a pitch. Nothing of joints, methods or materials is in it.

- `bounds`: the answers. `cell_bounds` brackets the load per pitch in a thick wall, `boss_bounds`
  that of a boss, `collapse_mechanism` shows how a boss collapses. What is assumed stands there.
- `profile`: the meshes of thread, boss and wire; `mesh`: triangles, edges, sides.
- `fields`: the best stress and velocity fields, as cone programmes (`programme`).
- `certificate`: whether a field is what makes its bound a bound, whatever the solver said of it.
- `wall_factor`: a table of such bounds, for every boss that the product meets.
"""
