"""Drafts for a verdict: plain sentences in which every number was measured, counted or noted; else no sentence."""
