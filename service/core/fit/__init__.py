"""Will it fit? One file a rule family, the verdict over them, and what housing it costs."""
