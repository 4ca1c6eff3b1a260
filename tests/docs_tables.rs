//! `docs/tables.md` says what the program writes. Make it anew with `ROOTWARD_REGENERATE=1 cargo test --test suite docs_tables`.

use std::path::Path;

#[test]
fn the_page_equals_the_list_in_the_program() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/tables.md");
    let text = rootward::write::columns_document::document();
    if std::env::var_os("ROOTWARD_REGENERATE").is_some() {
        std::fs::write(&path, &text).unwrap();
    }
    let page = std::fs::read_to_string(&path).unwrap();
    assert!(page == text, "docs/tables.md is old: ROOTWARD_REGENERATE=1 cargo test --test suite docs_tables");
}

#[test]
fn no_column_stands_twice_in_a_table() {
    for table in &rootward::write::columns::TABLES {
        let mut names: Vec<_> = table.groups.iter().flat_map(|group| group.columns).map(|column| column.name).collect();
        names.sort_unstable();
        let all = names.len();
        names.dedup();
        assert_eq!(names.len(), all, "{}", table.file);
    }
}
