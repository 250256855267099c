"""What people who know say a job needs, against what the tool picks; see README.md beside this file."""
