"""What is wrong with placed rows: blanks, rules, names that stand twice, figures far from their peers."""
