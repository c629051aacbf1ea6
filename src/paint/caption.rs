//! The caption: one or two lines beside an upright bar, and its change.

use super::canvas::Canvas;
use super::fit::{Rule, fit_or_cut};
use super::font::Font;
use super::layout::Plan;
use super::notation::prose;
use super::text::{Style, Typesetter};
use super::theme::Theme;
use crate::film::CaptionPicture;
use crate::units::PixelRect;

/// A caption's figures, in ems of its own size.
const SIZE: f32 = 46.0;
const LEADING: f32 = 1.24;
/// The words stand this far right of the bar's left edge.
const INDENT: f32 = 0.62;
const BAR_WIDTH: f32 = 0.14;
/// The bar reaches this far above the first baseline, and is this much taller than the way between the baselines.
const BAR_ABOVE: f32 = 0.94;
const BAR_TALLER: f32 = 1.22;
/// Words coming in rise by this much.
const RISE: f32 = 0.17;

/// How captions are set in a plan.
pub(super) fn style(plan: &Plan) -> Style {
    Style::prose(Font::Semibold, plan.grid.long(SIZE))
}

/// The width a caption's lines have.
pub(super) fn width(plan: &Plan) -> f32 {
    plan.caption.width() - INDENT * plan.grid.long(SIZE)
}

/// Where captions are painted, in the frame.
pub(super) fn area(plan: &Plan) -> PixelRect {
    let em = plan.grid.long(SIZE);
    let top = plan.caption_baseline - BAR_ABOVE * em;
    plan.area(
        plan.caption.left - 2.0,
        top - 2.0,
        plan.caption.right + 2.0,
        top + (LEADING + BAR_TALLER + RISE) * em + 2.0,
    )
}

/// Paints a caption as far as its change has come.
pub(super) fn paint_caption(
    canvas: &mut Canvas<'_>,
    caption: &CaptionPicture,
    plan: &Plan,
    theme: &Theme,
    typesetter: &mut Typesetter,
) {
    let em = plan.grid.long(SIZE);
    let (lines, old_lines) = {
        let mut broken =
            |text: &str| fit_or_cut(typesetter, &prose(text), style(plan), width(plan), Rule::Caption).lines;
        (
            caption.text.as_deref().map(&mut broken).unwrap_or_default(),
            caption.leaving.as_ref().map(|(text, _)| broken(text)).unwrap_or_default(),
        )
    };
    let (old_bar, new_bar) = (bar_height(old_lines.len()) * em, bar_height(lines.len()) * em);
    let height = old_bar + (new_bar - old_bar) * caption.bar;
    let top = plan.caption_baseline - BAR_ABOVE * em;
    canvas.rectangle(plan.caption.left, top, (BAR_WIDTH * em).max(1.0), height, theme.accent);
    let mut draw = |lines: &[String], opacity: f32, below: f32| {
        if opacity <= 0.0 {
            return;
        }
        for (i, line) in lines.iter().enumerate() {
            let baseline = plan.caption_baseline + (i as f32 * LEADING * em).round() + below;
            let colour = theme.text.fade(opacity);
            typesetter.draw(canvas, line, style(plan), plan.caption.left + INDENT * em, baseline, colour);
        }
    };
    if let Some((_, opacity)) = caption.leaving {
        draw(&old_lines, opacity, 0.0);
    }
    draw(&lines, caption.enter, (1.0 - caption.enter) * RISE * em);
}

/// How tall the bar is beside so many lines, in ems.
fn bar_height(lines: usize) -> f32 {
    match lines {
        0 => 0.0,
        lines => LEADING * (lines - 1) as f32 + BAR_TALLER,
    }
}
