//! A page as one HTML file that needs nothing but itself: its style inside, its pictures as data, no script.

use std::iter::zip;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use plotters::style::RGBColor;

use super::page::{Page, PageFigure, PagePart, PageTable, Span, Text};
use crate::charts::style as look;
use crate::report::bench::UNITS;
use crate::report::rows::Alignment;

/// The page as HTML.
pub fn html(page: &Page) -> String {
    let title = escaped(&Text::plain(&page.title).words());
    let body: Vec<String> = page.blocks.iter().map(block).collect();
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"{POLICY}\">\n\
         <title>{title}</title>\n<style>\n{}</style>\n</head>\n<body>\n<main>\n<h1>{title}</h1>\n{}\n</main>\n</body>\n</html>\n",
        style(),
        body.join("\n")
    )
}

/// What a browser may load for the page: nothing but what is in it.
const POLICY: &str = "default-src 'none'; img-src data:; style-src 'unsafe-inline'";

fn block(block: &PagePart) -> String {
    match block {
        PagePart::Chapter(text) => format!("<h2>{}</h2>", inline(text)),
        PagePart::Heading(text) => format!("<h3>{}</h3>", inline(text)),
        PagePart::Paragraph(text) => format!("<p>{}</p>", inline(text)),
        PagePart::List(items) => {
            let items: Vec<String> = items
                .iter()
                .map(|item| format!("<li>{}</li>", inline(item)))
                .collect();
            format!("<ul>\n{}\n</ul>", items.join("\n"))
        }
        PagePart::Table(of) => table(of),
        PagePart::Figure(of) => figure(of),
        // A line break right behind <pre> is not read, so that one of the text's own needs another before it.
        PagePart::Verbatim(text) => {
            format!(
                "<pre>\n<code>{}</code></pre>",
                escaped(&text.replace("\r\n", "\n").replace('\r', "\n"))
            )
        }
    }
}

fn table(of: &PageTable) -> String {
    let rows = of.rows.iter().map(|cells| row(of, "td", "", cells));
    let rows: Vec<String> = rows.collect();
    let class = if of.sides.contains(&Alignment::Right) {
        " class=\"figures\""
    } else {
        ""
    };
    format!(
        "<div class=\"wide\" role=\"region\" aria-label=\"{}\" tabindex=\"0\">\n<table{class}>\n<thead>\n{}\n</thead>\n<tbody>\n{}\n</tbody>\n</table>\n</div>",
        escaped(&of.about),
        row(of, "th", " scope=\"col\"", &of.header),
        rows.join("\n")
    )
}

fn row(of: &PageTable, tag: &str, scope: &str, cells: &[Text]) -> String {
    let mut row = String::new();
    for (side, text) in zip(&of.sides, cells) {
        let class = match side {
            Alignment::Right => " class=\"figure\"",
            Alignment::Left => "",
        };
        row += &format!("<{tag}{scope}{class}>{}</{tag}>", inline(text));
    }
    format!("<tr>{row}</tr>")
}

fn figure(of: &PageFigure) -> String {
    let size = match size(&of.png) {
        Some((width, height)) => format!(" width=\"{width}\" height=\"{height}\""),
        None => String::new(),
    };
    format!(
        "<figure>\n<img src=\"data:image/png;base64,{}\" alt=\"{}\"{size}>\n<figcaption>{}</figcaption>\n</figure>",
        STANDARD.encode(&of.png),
        escaped(&of.alt.words()),
        inline(&of.caption)
    )
}

/// Width and height as they stand in a PNG's header (ISO/IEC 15948, 11.2.2), pixels.
fn size(png: &[u8]) -> Option<(u32, u32)> {
    let (width, rest) = png.get(16..)?.split_first_chunk()?;
    let height = rest.first_chunk()?;
    Some((u32::from_be_bytes(*width), u32::from_be_bytes(*height)))
}

fn inline(text: &Text) -> String {
    text.0.iter().map(span).collect()
}

fn span(span: &Span) -> String {
    match span {
        Span::Plain(text) => kept_together(&escaped(text)),
        Span::Strong(text) => format!("<strong>{}</strong>", kept_together(&escaped(text))),
        Span::Mark(text) => format!("<mark>{}</mark>", escaped(text)),
        Span::Code(text) => format!("<code>{}</code>", escaped(text)),
    }
}

/// With spaces that do not break between a number and its unit.
fn kept_together(text: &str) -> String {
    let mut kept = String::new();
    for word in text.split(' ') {
        let bare = word.trim_end_matches([',', ';', ':', '.', ')', '?']);
        let unit = UNITS.contains(&bare) || ["h", "min"].contains(&bare);
        let joined = unit && kept.ends_with(|c: char| c.is_ascii_digit());
        let space = if joined { "\u{a0}" } else { " " };
        kept += space;
        kept += word;
    }
    kept.split_off(1)
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

/// The style sheet in the colours of the charts.
fn style() -> String {
    let colours = [
        ("INK", look::INK),
        ("MUTED", look::MUTED),
        ("GRID", look::GRID),
        ("AXIS", look::AXIS),
        ("COURSE", look::COURSE),
        ("LIMIT", look::LIMIT),
        ("CATCH", look::CATCH),
        ("PALE", look::PALE),
        ("PAPER", look::PAPER),
    ];
    let mut css = include_str!("page.css").to_owned();
    for (name, RGBColor(r, g, b)) in colours {
        css = css.replace(&format!("${name}"), &format!("#{r:02x}{g:02x}{b:02x}"));
    }
    css
}
