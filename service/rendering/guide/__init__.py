"""The guide as HTML: pages written in Markdown, and the reference made from the OpenAPI document."""
