"""A growers' group: many farms' field-years together, and what they say of another farm."""
