//! Bringing an array of tables into another order, comments included.

use toml_edit::{ArrayOfTables, Item, Table};

use crate::editor::{Editor, gather_table};

impl Editor {
    /// Brings an array of tables into the wanted order and content. Tables are
    /// known by their `id`.
    pub(crate) fn tables<T>(
        &mut self,
        root: &mut Table,
        key: &str,
        wanted: &[T],
        id: impl Fn(&T) -> &String,
        fill: impl Fn(&mut Self, &mut Table, &T, bool),
    ) {
        let mut old: Vec<Option<Table>> = match root.get(key).and_then(Item::as_array_of_tables) {
            Some(tables) => tables.iter().cloned().map(Some).collect(),
            None if wanted.is_empty() => return,
            None => Vec::new(),
        };
        let ids: Vec<Option<String>> = old.iter().map(|table| id_of(table.as_ref())).collect();
        let sources: Vec<Option<usize>> = pair_up(&ids, wanted.iter().map(id));
        self.hand_on_comments(&mut old, &sources);
        let reordered = sources.len() != old.len() || !sources.iter().flatten().is_sorted();
        let restructured = reordered || sources.iter().any(Option::is_none);
        let mut places = Places::of(&old);
        let mut tables = ArrayOfTables::new();
        for (item, source) in wanted.iter().zip(&sources) {
            let kept = source.and_then(|index| old[index].take());
            let new = kept.is_none();
            let mut table = kept.unwrap_or_default();
            if restructured {
                set_places(&mut table, places.next(new));
            }
            fill(self, &mut table, item, new);
            tables.push(table);
        }
        self.changed |= restructured;
        if tables.is_empty() {
            root.remove(key);
        } else if let Some(item) = root.get_mut(key) {
            *item = Item::ArrayOfTables(tables);
        } else {
            root.insert(key, Item::ArrayOfTables(tables));
        }
    }

    /// Moves comments of tables that go to the next table that stays.
    fn hand_on_comments(&mut self, old: &mut [Option<Table>], sources: &[Option<usize>]) {
        let earlier = std::mem::take(&mut self.orphans);
        for (index, table) in old.iter_mut().enumerate() {
            let Some(table) = table else { continue };
            if !sources.contains(&Some(index)) {
                gather_table(table, &mut self.orphans);
            } else if !self.orphans.is_empty() {
                let own = table.decor().prefix().and_then(|prefix| prefix.as_str());
                let prefix = format!("\n{}{}", self.take_orphans(), own.unwrap_or("\n"));
                table.decor_mut().set_prefix(prefix);
            }
        }
        self.orphans.splice(0..0, earlier);
    }
}

/// For each wanted id the index of the table that has it; each only once.
fn pair_up<'a>(
    ids: &[Option<String>],
    wanted: impl Iterator<Item = &'a String>,
) -> Vec<Option<usize>> {
    let mut free = vec![true; ids.len()];
    wanted
        .map(|id| {
            let found = (0..ids.len()).find(|&i| free[i] && ids[i].as_ref() == Some(id))?;
            free[found] = false;
            Some(found)
        })
        .collect()
}

fn id_of(table: Option<&Table>) -> Option<String> {
    Some(table?.get("id")?.as_str()?.to_owned())
}

/// Hands out the places in the file that the tables of an array had, in order;
/// a new table shares the place of the one before it. Tables of one place are
/// printed in the order of the array.
struct Places {
    free: Vec<isize>,
    next: usize,
    current: Option<isize>,
}

impl Places {
    fn of(tables: &[Option<Table>]) -> Self {
        let mut free: Vec<isize> = tables
            .iter()
            .flatten()
            .filter_map(Table::position)
            .collect();
        free.sort_unstable();
        Self {
            current: free.first().copied(),
            free,
            next: 0,
        }
    }

    fn next(&mut self, new: bool) -> Option<isize> {
        if !new && let Some(&place) = self.free.get(self.next) {
            self.next += 1;
            self.current = Some(place);
        }
        self.current
    }
}

/// Sets the place of a table and of those below it, so that they stay together.
fn set_places(table: &mut Table, place: Option<isize>) {
    table.set_position(place);
    for (_, item) in table.iter_mut() {
        match item {
            Item::Table(below) => set_places(below, place),
            Item::ArrayOfTables(list) => list.iter_mut().for_each(|below| set_places(below, place)),
            _ => {}
        }
    }
}
