//! Premultiplied pixels → straight ones, for files and clips whose readers multiply themselves.

use tiny_skia::PremultipliedColorU8;

/// A premultiplied pixel (red, green, blue, alpha) as straight colour with its alpha; nothing at all where nothing is.
/// Rounded as in stills, so that every file holds the same colours.
pub fn straight(pixel: [u8; 4]) -> [u8; 4] {
    let [r, g, b, a] = pixel;
    match PremultipliedColorU8::from_rgba(r, g, b, a) {
        _ if a == u8::MAX => pixel,
        Some(painted) => {
            let straight = painted.demultiply();
            [straight.red(), straight.green(), straight.blue(), a]
        }
        // More colour than coverage: painting does not make it.
        None => pixel,
    }
}
