//! The dictionary and the typed records say the same.

use valvefolio::dictionary;
use valvefolio::record::{CaseCells, Cells, DeviceCells, VisitCells};

fn same<T: Cells>() {
    let columns: Vec<_> = dictionary::columns_of(T::FILE).collect();
    assert_eq!(columns.len(), T::FIELDS.len());
    for (column, field) in columns.iter().zip(T::FIELDS) {
        assert_eq!(column.name, field.name);
        let kind = if column.kind == "id" {
            "text"
        } else {
            &column.kind
        };
        assert_eq!(kind, field.kind, "{}", column.name);
        assert_eq!(
            column.words().collect::<Vec<_>>(),
            (field.words)(),
            "{}",
            column.name
        );
    }
}

#[test]
fn typed_records_have_the_columns_of_the_dictionary() {
    same::<CaseCells>();
    same::<VisitCells>();
    same::<DeviceCells>();
}
