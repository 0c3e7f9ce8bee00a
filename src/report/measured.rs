//! A drawing backend for the plotting library that estimates text width as `svg.rs` does.
//!
//! Compiled for a browser, the library would otherwise measure text with the window object, which a web worker does not
//! have.

use super::svg::width;
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind,
};

/// A backend that measures text with `svg::width`.
pub(super) struct Measured<B>(pub B);

type Done<B> = Result<(), DrawingErrorKind<<B as DrawingBackend>::ErrorType>>;

impl<B: DrawingBackend> DrawingBackend for Measured<B> {
    type ErrorType = B::ErrorType;

    fn get_size(&self) -> (u32, u32) {
        self.0.get_size()
    }

    fn ensure_prepared(&mut self) -> Done<B> {
        self.0.ensure_prepared()
    }

    fn present(&mut self) -> Done<B> {
        self.0.present()
    }

    fn draw_pixel(&mut self, at: BackendCoord, color: BackendColor) -> Done<B> {
        self.0.draw_pixel(at, color)
    }

    fn draw_line<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
    ) -> Done<B> {
        self.0.draw_line(from, to, style)
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
        fill: bool,
    ) -> Done<B> {
        self.0.draw_rect(from, to, style, fill)
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Done<B> {
        self.0.draw_path(path, style)
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        middle: BackendCoord,
        radius: u32,
        style: &S,
        fill: bool,
    ) -> Done<B> {
        self.0.draw_circle(middle, radius, style, fill)
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        corners: I,
        style: &S,
    ) -> Done<B> {
        self.0.fill_polygon(corners, style)
    }

    fn draw_text<S: BackendTextStyle>(
        &mut self,
        text: &str,
        style: &S,
        at: BackendCoord,
    ) -> Done<B> {
        self.0.draw_text(text, style, at)
    }

    fn estimate_text_size<S: BackendTextStyle>(
        &self,
        text: &str,
        style: &S,
    ) -> Result<(u32, u32), DrawingErrorKind<Self::ErrorType>> {
        // The library draws text smaller than its nominal font size by this factor.
        let size = style.size() / 1.24;
        Ok((width(text, size).round() as u32, size.round() as u32))
    }
}
