"""What the sidebar and the menus show; nothing here computes or writes."""
