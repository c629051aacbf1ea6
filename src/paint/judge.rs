//! Whether a theme can be read: contrast by WCAG 2.2 and what is left of it for eyes that lack a colour.
//!
//! Text needs 4.5 : 1 (success criterion 1.4.3), everything else that must be seen 3 : 1 (1.4.11). A mark is seen on a
//! square if either itself or the edge round it stands out there, and then itself from that edge.

use super::contrast::contrast;
use super::sight::Eye;
use super::theme::{Rgba, SquareFill, Theme};
use crate::diag::{Code, Diagnostic};
use crate::source::Span;
use crate::timeline::{Colour, OwnTheme};

/// Of text to what it stands on.
pub(super) const TEXT: f64 = 4.5;
/// Of a shape to what it stands on.
pub(super) const SHAPE: f64 = 3.0;
/// Of light to dark squares, for which no standard asks: the least with which a board is still read at a glance, a
/// little under that of the printed diagram (`ink`, 1.58).
const SQUARES: f64 = 1.4;
/// How different two colours that only their lightness tells apart must look to every eye (CIEDE2000).
const SIDES: f64 = 30.0;

/// Two colours too much alike.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Fault {
    /// What cannot be seen.
    pub colour: Colour,
    /// On or beside what.
    pub against: Colour,
    /// What was measured and what is needed, as a sentence's end.
    pub figure: String,
}

/// The colour as three channels.
fn rgb(colour: Rgba) -> [u8; 3] {
    let [r, g, b, _] = colour.0;
    [r, g, b]
}

/// Every pair of a theme's colours that cannot be told apart well enough, worst first within its kind.
pub(super) fn faults(theme: &Theme) -> Vec<Fault> {
    let mut faults = Vec::new();
    texts(theme, &mut faults);
    pieces(theme, &mut faults);
    marks(theme, &mut faults);
    sides(theme, &mut faults);
    faults
}

/// What is wrong with a film's own colours, at their places. `whole` is where they are given as a whole.
pub fn theme_faults(own: &OwnTheme, whole: Span) -> Vec<Diagnostic> {
    let base = own.base.map(|base| base.value).unwrap_or_default();
    let theme = Theme::with(base, &own.colours());
    let report = |Fault { colour, against, figure }: Fault| {
        // A fault comes of a colour that is given, or of the edge given to marks.
        let given = [colour, against, Colour::Casing].into_iter().find_map(|colour| own.place(colour));
        let message = format!("`{}` cannot be told from `{}`", colour.word(), against.word());
        // Of a style file all are at the place of its name.
        Diagnostic::error(Code::LowContrast, given.unwrap_or(whole), message.clone()).about(message).label(figure).hint(
            "the figures are contrast ratios of WCAG 2.2 (1.4.3, 1.4.11): move one of the two colours further away",
        )
    };
    faults(&theme).into_iter().map(report).collect()
}

fn need(theme: &Theme, colour: Colour, against: Colour, least: f64, faults: &mut Vec<Fault>) {
    let ratio = contrast(rgb(theme.colour(colour)), rgb(theme.colour(against)));
    if ratio < least {
        faults.push(Fault { colour, against, figure: told(ratio, least) });
    }
}

fn told(ratio: f64, least: f64) -> String {
    // Rounded down, so that a ratio just under the limit is not told as the limit.
    format!("{:.2} : 1, where {least} : 1 is needed", (ratio * 100.0).floor() / 100.0)
}

fn texts(theme: &Theme, faults: &mut Vec<Fault>) {
    for text in [Colour::Text, Colour::Muted, Colour::Coordinates, Colour::Accent] {
        for ground in [Colour::Ground, Colour::GroundEdge] {
            need(theme, text, ground, TEXT, faults);
        }
    }
    need(theme, Colour::TextOnAccent, Colour::Accent, TEXT, faults);
}

const SQUARE_COLOURS: [Colour; 2] = [Colour::LightSquare, Colour::DarkSquare];

fn pieces(theme: &Theme, faults: &mut Vec<Fault>) {
    need(theme, Colour::LightSquare, Colour::DarkSquare, SQUARES, faults);
    for (fill, outline, line) in [
        (Colour::WhiteFill, Colour::WhiteOutline, Colour::WhiteLine),
        (Colour::BlackFill, Colour::BlackOutline, Colour::BlackLine),
    ] {
        for square in SQUARE_COLOURS {
            // Where the body stands out its outline need not.
            let ratio = contrast(rgb(theme.colour(fill)), rgb(theme.colour(square)));
            if ratio < SHAPE {
                need(theme, outline, square, SHAPE, faults);
            }
        }
        need(theme, line, fill, SHAPE, faults);
    }
}

/// The marks that have an edge round them.
const CASED: [Colour; 5] = [Colour::Key, Colour::Threat, Colour::Guard, Colour::Force, Colour::Accent];

fn marks(theme: &Theme, faults: &mut Vec<Fault>) {
    for mark in CASED {
        for square in SQUARE_COLOURS {
            for eye in Eye::ALL {
                let ratio = standing_out(theme, mark, square, eye);
                if ratio < SHAPE {
                    let whose = if eye == Eye::Usual { String::new() } else { format!(" ({eye})") };
                    faults.push(Fault { colour: mark, against: square, figure: told(ratio, SHAPE) + &whose });
                    break;
                }
            }
        }
    }
    for square in SQUARE_COLOURS {
        need(theme, Colour::Trap, square, SHAPE, faults);
        // Each side's arrow is edged in the other side's colour.
        let best = [theme.white_arrow, theme.black_arrow].map(|arrow| contrast(rgb(arrow), rgb(theme.colour(square))));
        if best[0].max(best[1]) < SHAPE {
            let figure = told(best[0].max(best[1]), SHAPE);
            faults.push(Fault { colour: Colour::WhiteArrow, against: square, figure });
        }
    }
}

/// How well a mark stands out from a square: by itself, or by its edge and then itself from that.
fn standing_out(theme: &Theme, mark: Colour, square: Colour, eye: Eye) -> f64 {
    let (mark, square, casing) = (rgb(theme.colour(mark)), rgb(theme.colour(square)), rgb(theme.casing));
    let by_its_edge = eye.contrast(casing, square).min(eye.contrast(mark, casing));
    eye.contrast(mark, square).max(by_its_edge)
}

/// White's and Black's things have the same shape: their colours must differ to every eye.
fn sides(theme: &Theme, faults: &mut Vec<Fault>) {
    for (white, black) in [(Colour::WhiteFill, Colour::BlackFill), (Colour::WhiteArrow, Colour::BlackArrow)] {
        for eye in Eye::ALL {
            let difference = eye.difference(rgb(theme.colour(white)), rgb(theme.colour(black)));
            if difference < SIDES {
                let figure = format!("a colour difference of {difference:.0} ({eye}), where {SIDES:.0} is needed");
                faults.push(Fault { colour: white, against: black, figure });
                break;
            }
        }
    }
}

/// What threatens has a second edge where its own colour may sink into the squares.
pub(super) fn has_rim(theme: &Theme) -> bool {
    theme.square_fill == SquareFill::Flat
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::timeline::ThemeName;
    use expect_test::expect;
    use std::fmt::Write;

    const THEMES: [ThemeName; 3] = [ThemeName::Dusk, ThemeName::Tide, ThemeName::Ink];

    #[test]
    fn the_themes_have_no_fault() {
        for theme in THEMES {
            assert_eq!(faults(Theme::named(theme)), [], "{theme}");
        }
    }

    #[test]
    fn a_fault_is_found_in_each_kind() {
        let at = |colour, value: u32, expected: (Colour, Colour)| {
            let mut theme = *Theme::named(ThemeName::Dusk);
            *theme.colour_mut(colour) = Rgba::hex(value);
            let found = faults(&theme);
            assert!(found.iter().any(|fault| (fault.colour, fault.against) == expected), "{colour:?}: {found:?}");
        };
        at(Colour::Muted, 0x60_5A70, (Colour::Muted, Colour::Ground));
        at(Colour::Accent, 0x60_5A70, (Colour::TextOnAccent, Colour::Accent));
        at(Colour::DarkSquare, 0xD0_B3A8, (Colour::LightSquare, Colour::DarkSquare));
        at(Colour::WhiteOutline, 0xE0_D3C8, (Colour::WhiteOutline, Colour::LightSquare));
        at(Colour::BlackLine, 0x30_3040, (Colour::BlackLine, Colour::BlackFill));
        at(Colour::Casing, 0x80_7090, (Colour::Threat, Colour::DarkSquare));
        at(Colour::Trap, 0x80_7090, (Colour::Trap, Colour::DarkSquare));
        at(Colour::BlackArrow, 0xF0_E8E0, (Colour::WhiteArrow, Colour::BlackArrow));
        let mut grey = *Theme::named(ThemeName::Dusk);
        *grey.colour_mut(Colour::Text) = Rgba::hex(0x8C_8C8C);
        assert!(faults(&grey)[0].figure.ends_with("where 4.5 : 1 is needed"), "{:?}", faults(&grey));
    }

    /// The least CIEDE2000 differences between the colours of the marks. None of these pairs is told apart by its colour
    /// alone: `laws` holds every mark's shape against every other's.
    #[test]
    fn the_colours_of_the_marks_keep_their_distance() {
        let colours = [Colour::Key, Colour::Threat, Colour::Guard, Colour::Force, Colour::Trap, Colour::Accent];
        let mut table = String::from("                    usual  protan  deutan  tritan\n");
        for name in THEMES {
            let theme = Theme::named(name);
            writeln!(table, "{name}").unwrap();
            for (i, a) in colours.iter().enumerate() {
                for b in &colours[i + 1..] {
                    write!(table, "  {:<16}", format!("{} {}", a.word(), b.word())).unwrap();
                    for eye in Eye::ALL {
                        write!(table, " {:>6.1} ", eye.difference(rgb(theme.colour(*a)), rgb(theme.colour(*b))))
                            .unwrap();
                    }
                    table = table.trim_end().to_owned() + "\n";
                }
            }
        }
        expect![[r"
                                usual  protan  deutan  tritan
            dusk
              key threat         46.8    40.5    23.1    30.0
              key guard          33.1    19.0    29.5    41.5
              key force          16.2    16.5    16.1    12.2
              key trap           90.0    87.3    90.9    82.3
              key accent         23.2    13.7     9.6    14.8
              threat guard       61.3    23.9    17.0    70.2
              threat force       38.2    35.3    23.8    37.9
              threat trap        47.9    33.9    52.9    54.4
              threat accent      22.6    27.5    13.7    16.6
              guard force        29.3    11.9    18.9    32.5
              guard trap         70.1    67.5    59.5    65.0
              guard accent       46.4    11.5    23.4    56.0
              force trap         87.8    85.9    88.0    84.8
              force accent       23.9    18.1    17.1    25.2
              trap accent        67.2    63.9    73.5    67.4
            tide
              key threat         50.5    34.4    20.2    35.2
              key guard          46.7    42.0    41.8    13.1
              key force          17.8    18.0    17.7    10.5
              key trap           94.6    91.8    91.0    81.3
              key accent         14.4    11.8    10.2    16.4
              threat guard       32.4    31.6    37.9    34.3
              threat force       40.3    32.7    25.5    40.7
              threat trap        49.4    40.4    59.0    45.3
              threat accent      42.2    28.5    14.8    21.5
              guard force        28.6    24.2    23.7    12.4
              guard trap         69.0    68.9    68.7    69.5
              guard accent       46.0    45.4    45.1    21.0
              force trap         88.3    87.0    85.7    83.9
              force accent       25.7    25.7    24.3    25.2
              trap accent        79.7    76.0    80.3    65.6
            ink
              key threat         34.6    29.0    15.0     8.2
              key guard          40.8    32.2    37.8    48.9
              key force          37.0    33.9    38.5    32.5
              key trap           49.7    51.3    54.6    36.5
              key accent         34.6    29.0    15.0     8.2
              threat guard       56.2    13.9    24.1    56.8
              threat force       33.5    13.3    27.6    31.6
              threat trap        28.9    18.1    38.8    39.9
              threat accent       0.0     0.0     0.0     0.0
              guard force        31.3    26.8    24.3    31.7
              guard trap         33.1    22.4    17.6    24.4
              guard accent       56.2    13.9    24.1    56.8
              force trap         20.2    21.1    20.5    13.0
              force accent       33.5    13.3    27.6    31.6
              trap accent        28.9    18.1    38.8    39.9
        "]]
        .assert_eq(&table);
    }

    /// The least contrast of each kind; that of the marks for each eye in turn.
    #[test]
    fn the_least_contrasts_are_known() {
        let mut table = String::new();
        for name in THEMES {
            let theme = Theme::named(name);
            let ratio = |a: Colour, b: Colour| contrast(rgb(theme.colour(a)), rgb(theme.colour(b)));
            let least = |pairs: &[(Colour, Colour)]| pairs.iter().map(|(a, b)| ratio(*a, *b)).fold(f64::MAX, f64::min);
            let texts = least(
                &[Colour::Text, Colour::Muted, Colour::Coordinates, Colour::Accent]
                    .into_iter()
                    .flat_map(|text| [(text, Colour::Ground), (text, Colour::GroundEdge)])
                    .collect::<Vec<_>>(),
            );
            let marks = Eye::ALL.map(|eye| {
                let pairs = CASED.into_iter().flat_map(|mark| SQUARE_COLOURS.map(|square| (mark, square)));
                pairs.map(|(mark, square)| standing_out(theme, mark, square, eye)).fold(f64::MAX, f64::min)
            });
            let chip = ratio(Colour::TextOnAccent, Colour::Accent);
            let trap = least(&SQUARE_COLOURS.map(|square| (Colour::Trap, square)));
            writeln!(table, "{name}: text {texts:.2}, on the chip {chip:.2}, marks {marks:.2?}, trap {trap:.2}")
                .unwrap();
        }
        expect![[r"
            dusk: text 7.03, on the chip 8.95, marks [3.93, 3.99, 3.90, 3.96], trap 3.65
            tide: text 7.33, on the chip 9.76, marks [4.21, 4.48, 4.04, 4.22], trap 3.88
            ink: text 5.34, on the chip 7.10, marks [3.34, 3.04, 3.19, 3.15], trap 6.70
        "]]
        .assert_eq(&table);
    }

    /// To an eye without red the threat colour is as dark as the dark squares; its second, light edge stands out there,
    /// its dark one on the light squares, and the two from each other.
    #[test]
    fn what_threatens_shows_an_edge_to_every_eye() {
        for name in THEMES {
            let theme = Theme::named(name);
            let casing = rgb(theme.casing);
            for eye in Eye::ALL {
                let (threat, dark) = (rgb(theme.threat), rgb(theme.dark_square));
                if has_rim(theme) {
                    let rim = rgb(theme.force);
                    assert!(eye.contrast(rim, dark) > SHAPE, "{name}, {eye:?}: the light edge on a dark square");
                    assert!(eye.contrast(casing, rgb(theme.light_square)) > SHAPE, "{name}, {eye:?}: the dark edge");
                    assert!(eye.contrast(rim, casing) > 7.0, "{name}, {eye:?}: the edges against each other");
                    assert!(eye.contrast(threat, casing) > SHAPE, "{name}, {eye:?}: the colour in its casing");
                } else {
                    assert!(eye.contrast(threat, dark) > SHAPE, "{name}, {eye:?}: the colour on a dark square");
                }
            }
        }
    }
}
