//! The format as a JSON Schema (draft 2020-12), made from the same key table as the reader.
//!
//! Editors read it through `#:schema` in the first line of a timeline, and offer keys, words and their meanings.

use super::colours::THEME;
use super::forms::LONGEST;
use super::keys::{FILE, Form, Key, Keys};
use super::words::{Meaning, Word};
use super::{MarkRole, ThemeName};
use serde_json::{Map, Value, json};

/// The JSON Schema of a timeline file.
///
/// It knows keys, types, words, bounds and the spelling of squares and times; what depends on several keys, on other
/// scenes or on the laws of chess is left to [`super::parse`] and the rooms after it.
pub fn schema() -> Value {
    let mut schema = table(&FILE);
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["title"] = json!("plyreel timeline");
    schema
}

/// The schema of a table: its keys, no others, and those it cannot do without.
fn table(keys: &'static Keys) -> Value {
    let properties: Map<String, Value> = keys.list.iter().map(|key| (key.name.to_owned(), value(key))).collect();
    let mut schema = json!({
        "type": "object",
        "description": keys.doc,
        "properties": properties,
        "additionalProperties": false,
    });
    if !keys.required.is_empty() {
        schema["required"] = json!(keys.required);
    }
    schema
}

fn value(key: &Key) -> Value {
    let mut schema = form(key.form);
    schema["description"] = json!(key.doc);
    schema
}

fn form(form: Form) -> Value {
    match form {
        Form::Text => json!({ "type": "string" }),
        Form::Filled => filled(),
        Form::Count(from, to) => json!({ "type": "integer", "minimum": from, "maximum": to }),
        Form::Even(from, to) => json!({ "type": "integer", "minimum": from, "maximum": to, "multipleOf": 2 }),
        Form::Ratio(from, to) => json!({ "type": "number", "minimum": from, "maximum": to }),
        Form::Flag => json!({ "type": "boolean" }),
        Form::At => json!({ "anyOf": [pattern(&format!("^(\\+?{CLOCK})$")), seconds(None)] }),
        Form::Clock => json!({ "anyOf": [pattern(&format!("^({CLOCK})$")), seconds(None)] }),
        Form::Length => json!({ "anyOf": [pattern(LENGTH), seconds(Some(LONGEST / 1_000_000))] }),
        Form::Rate => json!({
            "enum": [24, 25, 30, 50, 60, "24", "25", "30", "50", "60", "24000/1001", "30000/1001", "60000/1001"],
        }),
        Form::Shape => json!({ "anyOf": [{ "enum": ["wide", "tall", "square"] }, pattern(SIZE)] }),
        Form::Word(_, list) => words(list),
        Form::Moves | Form::Phrases => one_or_several(&filled()),
        Form::Marks => {
            let roles = MarkRole::LIST.iter().map(|(role, _)| *role).filter(|role| *role != "force");
            let roles = roles.collect::<Vec<_>>().join("|");
            one_or_several(&pattern(&format!("^\\s*(force(\\s+{SQUARE}){{2}}|({roles})(\\s+{SQUARE})+)\\s*$")))
        }
        Form::Arrows => one_or_several(&pattern(&format!("^\\s*(plan\\s+)?([wb]\\s+)?{SQUARE}\\s+{SQUARE}\\s*$"))),
        Form::Ghost => pattern("^\\s*([wb]\\s+)?\\S+\\s*$"),
        Form::Back => json!({ "anyOf": [filled(), { "type": "integer", "minimum": 1, "maximum": 9999 }] }),
        Form::Theme => json!({
            "anyOf": [words(ThemeName::LIST), pattern("\\.[tT][oO][mM][lL]$"), table(&THEME)],
        }),
        Form::Colour => pattern("^#[0-9A-Fa-f]{6}$"),
        Form::Table(keys) => table(keys),
        Form::Tables(keys) => json!({ "type": "array", "items": table(keys) }),
    }
}

/// Hours, minutes and seconds, or seconds alone, with their unit or without.
const CLOCK: &str =
    "(([0-9]{1,2}:[0-5][0-9]:[0-5][0-9]|[0-9]{1,6}:[0-5][0-9])(\\.[0-9]+)?|[0-9]{1,9}(\\.[0-9]+)?\\s*s?)";
/// A number with its unit, or seconds alone.
const LENGTH: &str = "^[0-9]+(\\.[0-9]+)?\\s*(ms|s)?$";
/// Two sides in pixels.
const SIZE: &str = "^[0-9]{3,4}[x\u{d7}][0-9]{3,4}$";
/// A square of the board.
const SQUARE: &str = "[a-h][1-8]";

fn filled() -> Value {
    pattern("\\S")
}

fn pattern(pattern: &str) -> Value {
    json!({ "type": "string", "pattern": pattern })
}

fn seconds(at_most: Option<u64>) -> Value {
    match at_most {
        None => json!({ "type": "number", "minimum": 0 }),
        Some(most) => json!({ "type": "number", "minimum": 0, "maximum": most }),
    }
}

fn words(list: &[Meaning]) -> Value {
    let each: Vec<Value> =
        list.iter().map(|(word, meaning)| json!({ "const": word, "description": meaning })).collect();
    json!({ "oneOf": each })
}

fn one_or_several(schema: &Value) -> Value {
    json!({ "anyOf": [schema, { "type": "array", "items": schema, "minItems": 1 }] })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Source;
    use crate::timeline::parse;

    /// Every table of the schema with the TOML around it, `@` standing for its keys.
    const TABLES: &[(&str, &str)] = &[
        ("", "@ = 1"),
        ("/properties/film", "film = { @ = {} }"),
        ("/properties/film/properties/theme/anyOf/2", "film = { theme = { @ = {} } }"),
        ("/properties/film/properties/words", "film = { words = { @ = {} } }"),
        ("/properties/scene/items", "scene = [{ @ = {} }]"),
        ("/properties/scene/items/properties/replay", "scene = [{ replay = { @ = {} } }]"),
        ("/properties/scene/items/properties/cues/items", "scene = [{ cues = [{ @ = {} }] }]"),
        ("/properties/thumbnail/items", "thumbnail = [{ @ = {} }]"),
    ];

    fn count_tables(schema: &Value) -> usize {
        match schema {
            Value::Object(map) => {
                usize::from(map.contains_key("properties")) + map.values().map(count_tables).sum::<usize>()
            }
            Value::Array(values) => values.iter().map(count_tables).sum(),
            _ => 0,
        }
    }

    /// Asks the reader itself, so that the test holds even if the schema ceases to be made from the key table.
    #[test]
    fn the_reader_knows_the_keys_of_the_schema_and_no_others() {
        let schema = schema();
        assert_eq!(count_tables(&schema), TABLES.len(), "every table of the schema is asked for below");
        for (place, around) in TABLES {
            let table = schema.pointer(place).unwrap_or_else(|| panic!("no schema at {place}"));
            let keys: Vec<&str> =
                table["properties"].as_object().expect("a table").keys().map(String::as_str).collect();
            for key in &keys {
                let (_, diagnostics) = parse(&Source::new("t", around.replace('@', key)));
                let unknown = diagnostics.iter().any(|diagnostic| diagnostic.code.name() == "unknown-key");
                assert!(!unknown, "the schema offers `{key}` at {place}, the reader does not know it");
            }
            // The reader's own list, as its message shows it.
            let (_, diagnostics) = parse(&Source::new("t", around.replace('@', "nothing_of_the_kind")));
            let refusal = diagnostics.iter().find(|d| d.code.name() == "unknown-key").expect("an unknown key");
            let listed = refusal.hints.last().expect("a list of keys").split_once(" takes ").expect("a list").1;
            let mut listed: Vec<&str> = listed.split(", ").collect();
            listed.sort_unstable();
            assert_eq!(listed, keys, "at {place}");
        }
    }

    #[test]
    fn every_key_and_word_is_described() {
        fn described(schema: &Value) {
            match schema {
                Value::Object(map) => {
                    for (key, property) in map.get("properties").and_then(Value::as_object).into_iter().flatten() {
                        assert!(property["description"].as_str().is_some_and(|text| text.ends_with('.')), "{key}");
                    }
                    if map.contains_key("const") {
                        assert!(map.contains_key("description"), "{schema}");
                    }
                    map.values().for_each(described);
                }
                Value::Array(values) => values.iter().for_each(described),
                _ => {}
            }
        }
        described(&schema());
    }
}
