"""One hive on one day: from readings and kit to gross, what is not stores, and stores."""
