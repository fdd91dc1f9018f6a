"""The record under force: killed writers, full disks, crowds."""
