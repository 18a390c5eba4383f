"""The workbook with which a beekeeping club brings every colony into winter with enough stores."""

__version__ = "0.1.0"
