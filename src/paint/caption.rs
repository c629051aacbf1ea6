//! The caption and its change: beside an upright bar, in the box of a lower third, or on a plate of its own.

use super::band::set_idle;
use super::brush::Bounds;
use super::design::{CAPTION_PLATE, CaptionForm};
use super::fit::{Fitted, TooLong, cut, fit_rows, ink, moved_into};
use super::font::Font;
use super::kit::Kit;
use super::layout::{CaptionPlan, Plan};
use super::notation::prose;
use super::plate::{caption_plate, plate_radius};
use super::reading::SetLines;
use super::text::{Style, Typesetter};
use super::tile::Tile;
use crate::film::{CaptionPicture, Head};
use crate::units::PixelRect;

/// A caption's figures, in ems of its own size.
const LEADING: f32 = 1.24;
/// The words stand this far right of the bar's left edge.
const INDENT: f32 = 0.62;
const BAR_WIDTH: f32 = 0.14;
/// The bar reaches this far above the first baseline, and is this much taller than the way between the baselines.
const BAR_ABOVE: f32 = 0.94;
const BAR_TALLER: f32 = 1.22;
/// A plate grows this much faster than a bar, so that it is there when the words come: half of the bar's time has passed
/// then, in which an eased way is four fifths covered.
const PLATE_COMES: f32 = 1.27;
/// Words coming in rise by this much.
const RISE: f32 = 0.17;

/// How captions are set in a plan.
fn style(plan: &Plan) -> Style {
    Style::prose(Font::Semibold, plan.caption.em)
}

/// The width a caption's lines have.
fn width(CaptionPlan { form, place, em, .. }: CaptionPlan) -> f32 {
    match form {
        CaptionForm::Bar => place.width() - INDENT * em,
        CaptionForm::Boxed => place.width(),
        CaptionForm::Plate | CaptionForm::Hanging => place.width() - (INDENT + BAR_WIDTH + CAPTION_PLATE.0) * em,
    }
}

/// Whether a caption's words are too long for its place.
pub(super) fn is_too_long(words: &str, plan: &Plan, typesetter: &mut Typesetter) -> bool {
    fitted(&prose(words), plan, typesetter) == Err(TooLong)
}

/// A caption's words, broken and sized so that all of their ink finds room.
fn fitted(words: &str, plan: &Plan, typesetter: &mut Typesetter) -> Result<Fitted, TooLong> {
    let (top, bottom) = rows(plan);
    fit_rows(typesetter, words, style(plan), width(plan.caption), (plan.caption.rule, LEADING), bottom - top)
}

/// The rows of pixels that a caption's words may cover.
fn rows(plan: &Plan) -> (f32, f32) {
    (plan.caption.place.top.ceil(), plan.caption.place.bottom.floor())
}

/// A caption's lines as they are set, with their widths in pixels.
pub(super) fn set_lines(words: &str, plan: &Plan, typesetter: &mut Typesetter) -> SetLines {
    let Fitted { lines, size } = cut(&prose(words), plan.caption.em, |words| fitted(words, plan, typesetter));
    let style = style(plan).at(size);
    let measured = |line: String| (typesetter.width(&line, style), line);
    lines.into_iter().map(measured).map(|(width, line)| (line, width)).collect()
}

/// Where captions are painted, in the frame.
pub(super) fn area(plan: &Plan) -> PixelRect {
    let CaptionPlan { form, place, em, .. } = plan.caption;
    let bottom = match form {
        CaptionForm::Bar => place.top + (LEADING + BAR_TALLER + RISE) * em + 2.0,
        _ => 0.0,
    };
    let sides = if form == CaptionForm::Boxed { plan.grid.long(10.0) } else { 2.0 };
    plan.area(place.left - sides, place.top - 2.0, place.right + sides, bottom.max(place.bottom))
}

/// Paints a caption as far as its change has come onto the bare ground. In a box the task stands where there is none.
pub(super) fn paint_caption(tile: &mut Tile, caption: &CaptionPicture, head: &Head, kit: &mut Kit) {
    let (plan, theme) = (&kit.plan, kit.theme);
    let mut broken = |text: Option<&str>| Words::broken(text, plan, &mut kit.typesetter);
    let now = broken(caption.text.as_deref());
    let old = broken(caption.leaving.as_ref().map(|(text, _)| &**text));
    let canvas = &mut tile.canvas();
    let CaptionPlan { form, place, em, .. } = plan.caption;
    // How much of the shape behind the words is there: it comes with the first words and goes with the last.
    match form {
        CaptionForm::Bar => {
            let height = old.bar() + (now.bar() - old.bar()) * caption.bar;
            canvas.rectangle(place.left, place.top, (BAR_WIDTH * em).max(1.0), height, theme.accent);
        }
        CaptionForm::Plate | CaptionForm::Hanging => {
            let (from, to) = (old.plate(plan), now.plate(plan));
            let are_left = caption.leaving.as_ref().is_some_and(|(_, opacity)| *opacity > 0.0);
            let comes = (caption.bar * PLATE_COMES).min(1.0);
            let (shape, strength) = match (from, to) {
                // Words never stand beside their plate: it grows before new ones come, and shrinks once old ones are gone.
                (Some(from), Some(to)) => {
                    let goes = if are_left { 0.0 } else { caption.bar };
                    (Some(between(from, to, (comes, goes))), 1.0)
                }
                (None, Some(to)) => (Some(to), comes),
                (Some(from), None) => (Some(from), if are_left { 1.0 } else { 1.0 - caption.bar }),
                (None, None) => (None, 0.0),
            };
            if let Some(shape) = shape.filter(|_| strength > 0.0) {
                canvas.rounded(shape, plate_radius(plan), caption_plate(theme).fade(strength));
                let inset = (0.34 * em).round();
                let bar = (BAR_WIDTH * em).round().max(1.0);
                let left = shape.left + bar;
                canvas.rectangle(
                    left,
                    shape.top + inset,
                    bar,
                    shape.height() - 2.0 * inset,
                    theme.accent.fade(strength),
                );
            }
        }
        CaptionForm::Boxed => {}
    }
    if form == CaptionForm::Boxed {
        let opacity = match (&caption.text, &caption.leaving) {
            (None, _) => caption.enter,
            // Words that come first: the task goes while the bar would begin to grow.
            (Some(_), None) => 1.0 - 2.5 * caption.bar,
            (Some(_), Some(_)) => 0.0,
        };
        if opacity > 0.0 {
            let words = set_idle(head, plan, &mut kit.typesetter);
            let mut layer = Tile::copy_of(tile);
            words.draw(&mut layer.canvas(), &mut kit.typesetter, &mut kit.sprites, theme);
            tile.blend_moved(&layer, 0, opacity.min(1.0));
        }
    }
    let canvas = &mut tile.canvas();
    let mut draw = |words: &Words, opacity: f32, below: f32| {
        if opacity <= 0.0 {
            return;
        }
        let (left, first) = words.origin(plan);
        let style = style(plan).at(words.size);
        for (i, line) in words.lines.iter().enumerate() {
            let baseline = first + (i as f32 * LEADING * words.size).round() + below;
            kit.typesetter.draw(canvas, line, style, left, baseline, theme.text.fade(opacity));
        }
    };
    if let Some((_, opacity)) = caption.leaving {
        draw(&old, opacity, 0.0);
    }
    // Words rise from as far below as their place reaches.
    let room = (rows(plan).1 - now.bottom(plan)).max(0.0);
    draw(&now, caption.enter, ((1.0 - caption.enter) * RISE * em).min(room));
}

/// A caption's words, broken and sized.
struct Words {
    lines: Vec<String>,
    size: f32,
    /// The longest line's, in pixels.
    width: f32,
    /// How far their ink reaches above the first baseline and below the last, in pixels.
    ink: (f32, f32),
}

impl Words {
    fn broken(text: Option<&str>, plan: &Plan, typesetter: &mut Typesetter) -> Words {
        let text = prose(text.unwrap_or_default());
        let Fitted { lines, size } = cut(&text, plan.caption.em, |text| fitted(text, plan, typesetter));
        let style = style(plan).at(size);
        let width = lines.iter().map(|line| typesetter.width(line, style)).fold(0.0, f32::max);
        let ink = ink(typesetter, &lines, style, LEADING);
        Words { lines, size, width, ink }
    }

    /// How far apart first and last baseline are.
    fn way(&self) -> f32 {
        LEADING * self.size * self.lines.len().saturating_sub(1) as f32
    }

    /// How tall the bar beside the words is.
    fn bar(&self) -> f32 {
        if self.lines.is_empty() { 0.0 } else { self.way() + BAR_TALLER * self.size }
    }

    /// The plate behind the words, in whole pixels, as wide as they are.
    fn plate(&self, plan: &Plan) -> Option<Bounds> {
        let CaptionPlan { form, place, em, .. } = plan.caption;
        (!self.lines.is_empty()).then(|| {
            let height = self.way() + 1.18 * self.size + 2.0 * CAPTION_PLATE.1 * em;
            let width = self.width + (INDENT + BAR_WIDTH + CAPTION_PLATE.0) * em;
            let left = place.left.round();
            let right = (left + width).min(place.right).round();
            if form == CaptionForm::Hanging {
                let top = place.top.round();
                Bounds::new(left, top, right, (top + height).round().min(place.bottom.ceil()))
            } else {
                let bottom = place.bottom.round();
                Bounds::new(left, (bottom - height).round().max(place.top.floor()), right, bottom)
            }
        })
    }

    /// The last row with ink.
    fn bottom(&self, plan: &Plan) -> f32 {
        self.origin(plan).1 + self.way() + self.ink.1
    }

    /// Left edge and first baseline of the words.
    fn origin(&self, plan: &Plan) -> (f32, f32) {
        let (left, first) = self.balanced(plan);
        (left, first + moved_into(rows(plan), first - self.ink.0, first + self.way() + self.ink.1))
    }

    /// The same, as it looks best where letters reach no further than most.
    fn balanced(&self, plan: &Plan) -> (f32, f32) {
        let CaptionPlan { form, place, em, .. } = plan.caption;
        match form {
            CaptionForm::Bar => (place.left + INDENT * em, (place.top + BAR_ABOVE * self.size).round()),
            CaptionForm::Boxed => {
                // A little above the middle, near the title.
                let middle = place.top + 0.47 * place.height();
                (place.left, (middle - self.way() / 2.0 + 0.35 * self.size).round())
            }
            CaptionForm::Plate | CaptionForm::Hanging => {
                let plate = self.plate(plan).unwrap_or(place);
                let middle = f32::midpoint(plate.top, plate.bottom);
                let left = plate.left + (INDENT + 2.0 * BAR_WIDTH) * em;
                (left, (middle - self.way() / 2.0 + 0.35 * self.size).round())
            }
        }
    }
}

/// A rectangle between two others, in whole pixels: its edges that move outwards have come the first part of their way,
/// those that move inwards the second.
fn between(from: Bounds, to: Bounds, (outwards, inwards): (f32, f32)) -> Bounds {
    let mix = |a: f32, b: f32, is_out: bool| (a + (b - a) * if is_out { outwards } else { inwards }).round();
    Bounds::new(
        mix(from.left, to.left, to.left < from.left),
        mix(from.top, to.top, to.top < from.top),
        mix(from.right, to.right, to.right > from.right),
        mix(from.bottom, to.bottom, to.bottom > from.bottom),
    )
}
