"""A study that is solved again whenever its file is saved, shown on a page of this computer."""
