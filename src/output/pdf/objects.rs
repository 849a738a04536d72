//! Where the objects of a document go: into a file held whole until its end ([`super::skeleton`]), or into one that is
//! written as it grows ([`super::binder`]).

use lopdf::{Dictionary, Object, ObjectId};

/// A document under construction.
pub(super) trait Objects {
    /// Reserves the number of an object that others refer to before it is known.
    fn reserve(&mut self) -> ObjectId;

    /// Sets a reserved object.
    fn set(&mut self, id: ObjectId, object: impl Into<Object>);

    /// Sets a reserved object to the bytes that `write` appends. Objects come in ascending order of their numbers.
    fn write(&mut self, id: ObjectId, write: impl FnOnce(&mut Vec<u8>));

    /// Adds a stream as it is.
    fn add_stream(&mut self, dictionary: Dictionary, content: Vec<u8>) -> ObjectId;

    /// The catalogue.
    fn catalogue(&mut self) -> &mut Dictionary;

    /// Makes a font available to all pages.
    fn add_font(&mut self, name: &str, font: ObjectId);

    /// Replaces the information dictionary.
    fn set_info(&mut self, info: Dictionary);

    /// Adds an object.
    fn add(&mut self, object: impl Into<Object>) -> ObjectId {
        let id = self.reserve();
        self.set(id, object);
        id
    }

    /// Adds a stream whose content is already compressed.
    fn add_deflated(&mut self, mut dictionary: Dictionary, content: Vec<u8>) -> ObjectId {
        dictionary.set("Filter", "FlateDecode");
        self.add_stream(dictionary, content)
    }
}
