"""Sheets.

Plan or verdict → view model → HTML → PDF, with form fields, QR codes, corner marks and the plan attached.
"""
