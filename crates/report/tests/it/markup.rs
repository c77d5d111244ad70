//! A small reader of markup, so that the tests see the page as a browser would.

/// One element in document order.
#[derive(Debug, Clone)]
pub struct Element {
    pub name: String,
    pub attributes: Vec<(String, String)>,
    /// Text of the element and everything inside it, unescaped.
    pub text: String,
    /// Places in the list of the elements around it, the outermost first.
    pub around: Vec<usize>,
}

impl Element {
    pub fn attribute(&self, name: &str) -> Option<&str> {
        let found = self.attributes.iter().find(|(key, _)| key == name);
        found.map(|(_, value)| value.as_str())
    }

    pub fn has_class(&self, class: &str) -> bool {
        self.attribute("class")
            .is_some_and(|classes| classes.split(' ').any(|one| one == class))
    }
}

const VOID: [&str; 4] = ["meta", "input", "br", "link"];

/// Reads a page into its elements; panics where a tag is not closed in order.
pub fn read(page: &str) -> Vec<Element> {
    let mut elements: Vec<Element> = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    let mut rest = page;
    while let Some(start) = rest.find('<') {
        for at in &open {
            elements[*at].text.push_str(&unescape(&rest[..start]));
        }
        let end = start + rest[start..].find('>').expect("a tag ends");
        let tag = &rest[start + 1..end];
        rest = &rest[end + 1..];
        if tag.starts_with('!') {
            continue;
        }
        if let Some(name) = tag.strip_prefix('/') {
            let at = open.pop().expect("an open element");
            assert_eq!(elements[at].name, name, "closed in order");
            continue;
        }
        let element = read_tag(tag.trim_end_matches('/'), &open);
        let closed = tag.ends_with('/') || VOID.contains(&element.name.as_str());
        elements.push(element);
        if !closed {
            open.push(elements.len() - 1);
        }
    }
    assert!(open.is_empty(), "all elements are closed");
    elements
}

fn read_tag(tag: &str, open: &[usize]) -> Element {
    let (name, mut rest) = tag.split_once([' ', '\n']).unwrap_or((tag, ""));
    let mut attributes = Vec::new();
    while let Some((key, after)) = rest.split_once("=\"") {
        let (value, after) = after.split_once('"').expect("a quoted value ends");
        attributes.push((key.trim().to_owned(), unescape(value)));
        rest = after;
    }
    Element {
        name: name.to_owned(),
        attributes,
        text: String::new(),
        around: open.to_vec(),
    }
}

fn unescape(text: &str) -> String {
    text.replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&#39;", "'")
        .replace("&amp;", "&")
}

/// Elements of one name.
pub fn named<'a>(elements: &'a [Element], name: &str) -> Vec<&'a Element> {
    elements.iter().filter(|one| one.name == name).collect()
}

/// The place of the element with this id.
pub fn with_id(elements: &[Element], id: &str) -> Option<usize> {
    elements
        .iter()
        .position(|one| one.attribute("id") == Some(id))
}

/// The text of the element with this id.
pub fn text_of(elements: &[Element], id: &str) -> String {
    let at = with_id(elements, id).unwrap_or_else(|| panic!("no element `{id}`"));
    elements[at].text.clone()
}

/// Elements inside the drawing whose title has this id, in order.
pub fn in_drawing<'a>(elements: &'a [Element], title_id: &str) -> Vec<&'a Element> {
    let title = with_id(elements, title_id).expect("a drawing");
    let svg = *elements[title]
        .around
        .last()
        .expect("the title lies in its drawing");
    elements
        .iter()
        .filter(|one| one.around.contains(&svg))
        .collect()
}
