"""What goes to the shop: cut list, templates, plates, table set-up, report, and the packet of them all."""
