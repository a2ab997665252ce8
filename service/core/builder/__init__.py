"""The builder's question: who would take this drawer, and what smallest change makes more of them take it?"""
