//! Published values as JSON, and the schemas that they follow.

use schemars::generate::SchemaSettings;
use schemars::transform::RecursiveTransform;
use schemars::{JsonSchema, Schema};
use serde::Serialize;

/// The schema of a published type, JSON Schema 2020-12: every key that is written is required, and no other is allowed.
pub fn schema<T: JsonSchema>() -> String {
    let settings = SchemaSettings::draft2020_12().for_serialize().with_transform(RecursiveTransform(closed));
    let schema = settings.into_generator().into_root_schema_for::<T>();
    format!("{}\n", serde_json::to_string_pretty(&schema).expect("a schema is valid JSON"))
}

/// An object has the keys that are listed and no others, so that one which is forgotten here is found.
fn closed(schema: &mut Schema) {
    if let Some(object) = schema.as_object_mut()
        && object.contains_key("properties")
    {
        object.insert("additionalProperties".into(), false.into());
    }
}

/// The bytes of a published value, its keys in the order of its type.
pub fn json(value: &impl Serialize) -> Vec<u8> {
    let mut text = serde_json::to_string_pretty(value).expect("published values are valid JSON");
    text.push('\n');
    text.into_bytes()
}

/// The text of a published value, its keys in the order of the alphabet.
pub fn sorted(value: &impl Serialize) -> String {
    let value = serde_json::to_value(value).expect("published values are valid JSON");
    format!("{value:#}\n")
}
