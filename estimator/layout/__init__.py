"""From the walls and pieces of a job to frames, members, cavities, faces, edges and strips."""
