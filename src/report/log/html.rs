//! A page as one HTML file that needs nothing but itself: its style inside, its pictures as data, and where a run can be
//! watched the one script that moves it.

use std::iter::zip;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use plotters::style::RGBColor;

use sha2::{Digest, Sha256};

use super::near::{NearWheel, slower};
use super::page::{Page, PageFigure, PagePart, PageTable, Span, Text};
use super::player::Player;
use crate::charts::style as look;
use crate::findings::words::duration;
use crate::report::bench::UNITS;
use crate::report::rows::Alignment;

/// The page as HTML.
pub fn html(page: &Page) -> String {
    let title = escaped(&Text::plain(&page.title).words());
    let body: Vec<String> = page.blocks.iter().map(block).collect();
    let policy = policy(page);
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"{policy}\">\n\
         <title>{title}</title>\n<style>\n{}</style>\n</head>\n<body>\n<main>\n<h1>{title}</h1>\n{}\n</main>\n</body>\n</html>\n",
        style(),
        body.join("\n")
    )
}

/// What a browser may load for the page: nothing but what is in it.
const POLICY: &str = "default-src 'none'; img-src data:; style-src 'unsafe-inline'";

/// The same, and its own scripts, known by their checksums (W3C, "Content Security Policy Level 3", 2.3.1).
fn policy(page: &Page) -> String {
    let mut scripts: Vec<&str> = Vec::new();
    for part in &page.blocks {
        if let PagePart::Player(of) = part {
            scripts.extend(of.near.as_ref().map(|_| NEAR_SCRIPT));
            scripts.push(SCRIPT);
        }
    }
    if scripts.is_empty() {
        return POLICY.to_owned();
    }
    let known = scripts.iter().map(|script| {
        let checksum = STANDARD.encode(Sha256::digest(script));
        format!(" 'sha256-{checksum}'")
    });
    format!("{POLICY}; script-src{}", known.collect::<String>())
}

/// What moves in the page.
const SCRIPT: &str = include_str!("player.js");
const NEAR_SCRIPT: &str = include_str!("near.js");
/// How fast a run can be watched, machine seconds a second.
const SPEEDS: [&str; 7] = ["0.25", "1", "2", "5", "10", "30", "60"];

fn block(block: &PagePart) -> String {
    match block {
        PagePart::Chapter(text) => format!("<h2 id=\"{}\">{}</h2>", anchor(text), inline(text)),
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
        PagePart::Player(of) => player(of),
        // A line break right behind <pre> is not read, so that one of the text's own needs another before it.
        PagePart::Verbatim(text) => {
            format!(
                "<pre>\n<code>{}</code></pre>",
                escaped(&text.replace("\r\n", "\n").replace('\r', "\n"))
            )
        }
    }
}

/// By what name a chapter is found in the page.
fn anchor(chapter: &Text) -> String {
    let small = chapter.words().to_lowercase();
    let letters = small.replace(|c: char| !c.is_ascii_alphanumeric(), "-");
    format!("chapter-{letters}")
}

/// The run to watch, with its controls, its text for whoever cannot see it, and what moves it.
fn player(of: &Player) -> String {
    let run = of.run;
    let mut speeds = String::new();
    for speed in SPEEDS {
        let chosen = if speed == "5" { " selected" } else { "" };
        speeds += &format!("<option value=\"{speed}\"{chosen}>{speed} times</option>");
    }
    let mut rows = String::new();
    for name in &of.names {
        rows += &format!(
            "<tr><th scope=\"row\">{}</th><td>0</td><td>0</td></tr>\n",
            escaped(name)
        );
    }
    let mut incidents = String::new();
    for (n, line) in of.incidents.iter().enumerate() {
        let story = match of.in_story == Some(n) {
            true => format!(" <a href=\"#chapter-the-story-of-run-{run}\">its story</a>"),
            false => String::new(),
        };
        let line = inline(&Text::sentence(line));
        incidents += &format!("<li><button type=\"button\">{line}</button>{story}</li>\n");
    }
    let until = if of.goes_on {
        format!(", its first {}", duration(of.cut_ms as f64 / 1e3))
    } else {
        String::new()
    };
    let (run, end) = (run.to_string(), of.cut_ms.to_string());
    filled(
        include_str!("player.html").trim_end(),
        &[
            ("$RUN", &run),
            ("$UNTIL", &until),
            ("$END", &end),
            ("$SPEEDS", &speeds),
            ("$INCIDENTS", &incidents),
            ("$ROWS", &rows),
            ("$DATA", &of.data),
            ("$SCRIPT", SCRIPT),
            ("$NEAR", &of.near.as_ref().map(near).unwrap_or_default()),
        ],
    )
}

/// A wheel from near, with its controls.
fn near(of: &NearWheel) -> String {
    let (wheel, deeds) = (escaped(&of.wheel), of.deeds.join("; "));
    let slower = slower().to_string();
    filled(
        include_str!("near.html").trim_end(),
        &[
            ("$WHEEL", &wheel),
            ("$SLOWER", &slower),
            ("$DEEDS", &deeds),
            ("$DATA", &of.data),
            ("$SCRIPT", NEAR_SCRIPT),
        ],
    )
}

/// A template with each of its marks replaced; what is put in is not read again.
fn filled(template: &str, marks: &[(&str, &str)]) -> String {
    let mut parts = template.split('$');
    let mut page = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let marked = marks.iter().find(|(mark, _)| part.starts_with(&mark[1..]));
        match marked {
            Some((mark, text)) => page += &(text.to_string() + &part[mark.len() - 1..]),
            None => page += &format!("${part}"),
        }
    }
    page
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

/// A picture, at a tap in its own size; its drawing for a telephone where the window is narrow.
fn figure(of: &PageFigure) -> String {
    let narrow = match &of.narrow {
        Some(png) => format!(
            "<source media=\"(max-width: 40rem)\" srcset=\"{}\"{}>\n",
            data(png),
            size(png)
        ),
        None => String::new(),
    };
    let name = escaped(&of.name);
    format!(
        "<figure id=\"{name}\">\n<a href=\"#{}\"><picture>\n{narrow}<img src=\"{}\" alt=\"{}\"{}>\n</picture></a>\n\
         <figcaption>{}</figcaption>\n</figure>",
        fragment(&of.name),
        data(&of.png),
        escaped(&of.alt.words()),
        size(&of.png),
        inline(&of.caption)
    )
}

fn data(png: &[u8]) -> String {
    format!("data:image/png;base64,{}", STANDARD.encode(png))
}

/// A name as an address within the page has it (RFC 3986, 2.1: what is not a letter, a number or one of four marks is
/// written in percent).
fn fragment(name: &str) -> String {
    let mut written = String::new();
    for byte in name.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => {
                written.push(char::from(byte));
            }
            _ => written += &format!("%{byte:02X}"),
        }
    }
    written
}

/// Width and height of a PNG as attributes.
fn size(png: &[u8]) -> String {
    match size_of(png) {
        Some((width, height)) => format!(" width=\"{width}\" height=\"{height}\""),
        None => String::new(),
    }
}

/// Width and height as they stand in a PNG's header (ISO/IEC 15948, 11.2.2), pixels.
fn size_of(png: &[u8]) -> Option<(u32, u32)> {
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
        ("WOOD", look::WOOD),
        ("PAPER", look::PAPER),
        ("FLOW", look::FLOW),
    ];
    let mut css = include_str!("page.css").to_owned();
    for (n, RGBColor(r, g, b)) in look::MARBLES.into_iter().enumerate() {
        css = css.replace(&format!("$MARBLE{n}"), &format!("#{r:02x}{g:02x}{b:02x}"));
    }
    for (name, RGBColor(r, g, b)) in colours {
        css = css.replace(&format!("${name}"), &format!("#{r:02x}{g:02x}{b:02x}"));
    }
    css
}
