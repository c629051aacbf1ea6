//! The page that leads to all of the kit.

use super::material::Material;
use super::wording::{escaped, href, one_line, spoken_length};
use super::{Content, KitFile, description};
use std::fmt::Write as _;

const STYLE: &str = "\
:root { color-scheme: light dark; --ink: #1a1d22; --paper: #efece5; --muted: #53575e; --line: #c9c6c0 }
@media (prefers-color-scheme: dark) { :root { --ink: #f1ece6; --paper: #1d1b29; --muted: #aaa6b8; --line: #45425a } }
body { font: 17px/1.55 system-ui, sans-serif; color: var(--ink); background: var(--paper); margin: 0 auto;
  max-width: 60rem; padding: 3rem 1.5rem 5rem }
h1 { font-size: 2rem; line-height: 1.15; margin: 0 }
h2 { font-size: 1.1rem; margin: 2.5rem 0 .75rem }
.muted { color: var(--muted) }
a { color: inherit; text-underline-offset: .2em }
dl { display: grid; grid-template-columns: minmax(14rem, auto) 1fr; gap: .4rem 1.5rem; margin: 0 }
dt { overflow-wrap: anywhere }
dd { margin: 0; color: var(--muted) }
pre { white-space: pre-wrap; border-left: 3px solid var(--line); margin: 0; padding: .25rem 0 .25rem 1rem;
  font: inherit; overflow-wrap: anywhere }
.boards { display: grid; grid-template-columns: repeat(auto-fill, minmax(13rem, 1fr)); gap: 1.25rem }
figure { margin: 0 }
img { width: 100%; display: block; border-radius: 4px }
figcaption { margin-top: .4rem; font-size: .9rem }
@media (max-width: 34rem) { dl { grid-template-columns: 1fr } dd { margin-bottom: .6rem } }
";

/// The page.
pub(super) fn write(material: &Material, files: &[KitFile]) -> KitFile {
    let title = escaped(&one_line(material.title()));
    let language = material.lang_attribute();
    let mut page = format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" \
         content=\"width=device-width\">\n<title>{title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n\
         <h1{language}>{title}</h1>\n"
    );
    let beneath = [material.series(), spoken_length(material.film.length())];
    let beneath = beneath.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" · ");
    let _ = writeln!(page, "<p class=\"muted\">{}</p>", escaped(&beneath));

    page.push_str("<h2>Files</h2>\n<dl>\n");
    for file in files.iter().filter(|file| !file.name.contains('/')) {
        let _ = writeln!(
            page,
            "<dt><a href=\"{}\">{}</a></dt>\n<dd>{}</dd>",
            href(&file.name),
            escaped(&file.name),
            escaped(&file.about)
        );
    }
    page.push_str("</dl>\n<h2>Diagrams</h2>\n<div class=\"boards\">\n");
    for file in files.iter().filter(|file| matches!(file.content, Content::Picture(_))) {
        let (png, svg) = (href(&file.name), href(&file.name.replace(".png", ".svg")));
        let about = escaped(&file.about);
        let _ = writeln!(
            page,
            "<figure><a href=\"{png}\"><img src=\"{png}\" alt=\"{about}\" loading=\"lazy\"></a>\
             <figcaption>{about} (<a href=\"{svg}\">SVG</a>)</figcaption></figure>"
        );
    }
    page.push_str("</div>\n");
    let described = files.iter().find(|file| file.name.ends_with(description::ENDING));
    if let Some(KitFile { content: Content::Text(text), .. }) = described {
        let _ = writeln!(page, "<h2>Description</h2>\n<pre{language}>{}</pre>", escaped(text.trim_end()));
    }
    page.push_str("</body>\n</html>\n");
    KitFile::text("index.html", "this kit on one page", page)
}
