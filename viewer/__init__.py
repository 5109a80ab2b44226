"""Pictures of a plan: meshes, stills, a GLB file and a desktop window."""
