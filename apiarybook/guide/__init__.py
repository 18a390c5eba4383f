"""Pages made from the registries: columns, rules, figures and commands; a test keeps them in step."""
