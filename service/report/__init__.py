"""Results as documents: one model, written as HTML, PDF and Word. Layer: service.report."""
