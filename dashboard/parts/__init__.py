"""Small pieces that several pages share: messages, figures, drawings, forms, suspects."""
