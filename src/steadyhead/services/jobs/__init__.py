"""Long studies as jobs: asked for in the app, worked out in a process of its own, resumed where it ended."""
