//! What the modules of a crate use, read from its sources.

#![allow(clippy::disallowed_methods, reason = "the sources of the crate are what is looked at")]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

pub(crate) type Module = Vec<String>;

/// One source file: its module, and its text without its unit tests, with comments and without.
pub(crate) struct Source {
    pub(crate) module: Module,
    pub(crate) documented: String,
    text: String,
}

/// All sources of the crate that is tested.
pub(crate) fn sources() -> Vec<Source> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    gather(&root, &root, &mut found);
    assert!(found.len() > 40, "{} sources", found.len());
    found
}

/// Types that are defined more than once in the crate, whoever may see them, with where.
pub(crate) fn named_twice(sources: &[Source]) -> Vec<String> {
    let mut known: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for source in sources {
        for line in source.documented.lines() {
            let mut words = line.split_whitespace().skip_while(|word| word.starts_with("pub"));
            // What stands further in is a trait's own.
            let is_type = match words.next() {
                Some("struct" | "enum" | "trait") => true,
                Some("type") => !line.starts_with(' '),
                _ => false,
            };
            let Some(name) = words.next().filter(|_| is_type) else { continue };
            let end = name.find(|letter: char| !letter.is_alphanumeric()).unwrap_or(name.len());
            known.entry(&name[..end]).or_default().push(source.module.join("::"));
        }
    }
    let twice = known.into_iter().filter(|(_, modules)| modules.len() > 1);
    twice.map(|(name, modules)| format!("{name}: {}", modules.join(", "))).collect()
}

fn gather(root: &Path, folder: &Path, found: &mut Vec<Source>) {
    for entry in std::fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path()) {
        if entry.is_dir() {
            gather(root, &entry, found);
        } else if entry.extension().is_some_and(|extension| extension == "rs") {
            let inner = entry.strip_prefix(root).expect("within").with_extension("");
            let mut module: Module =
                inner.iter().map(|part| part.to_str().expect("plain names").to_owned()).collect();
            if module.last().is_some_and(|last| last == "mod" || last == "lib") {
                module.pop();
            }
            let text = std::fs::read_to_string(&entry).expect("readable");
            let body = text.split("#[cfg(test)]\nmod tests").next().unwrap_or_default();
            let plain: Vec<&str> = body.lines().filter(|line| !line.trim_start().starts_with("//")).collect();
            found.push(Source { module, documented: body.to_owned(), text: plain.join("\n") });
        }
    }
}

/// `a::{b, c::{d as e, self}}` as `a::b`, `a::c::d`, `a::c`.
fn flattened(tree: &str, before: &[String], out: &mut Vec<(Module, String)>) {
    let tree = tree.trim();
    if let Some((head, rest)) = tree.split_once('{') {
        let mut before = before.to_vec();
        before.extend(head.split("::").filter(|part| !part.is_empty()).map(str::to_owned));
        let (mut depth, mut part) = (0, String::new());
        for letter in rest.trim_end_matches(';').chars() {
            match letter {
                '}' if depth == 0 => break,
                ',' if depth == 0 => flattened(&std::mem::take(&mut part), &before, out),
                _ => {
                    depth += i32::from(letter == '{') - i32::from(letter == '}');
                    part.push(letter);
                }
            }
        }
        return flattened(&part, &before, out);
    }
    let (path, name) =
        tree.split_once(" as ").unwrap_or((tree, tree.rsplit("::").next().unwrap_or_default()));
    if path.is_empty() {
        return;
    }
    let mut whole = before.to_vec();
    whole.extend(path.split("::").filter(|part| *part != "self").map(str::to_owned));
    let name = if name == "self" { whole.last().cloned().unwrap_or_default() } else { name.to_owned() };
    out.push((whole, name));
}

impl Source {
    /// The whole statements that begin with `use`, without it and their semicolon.
    fn uses(&self) -> impl Iterator<Item = (&str, &str)> {
        let statements =
            self.text.split(';').map(|statement| statement.trim_start_matches(['}', '\n']).trim());
        statements.filter_map(|statement| {
            let begins =
                statement.rfind("\nuse ").map(|at| at + 1).or(statement.starts_with("use ").then_some(0));
            let public = ["pub use ", "pub(crate) use ", "pub(super) use "];
            let open = public.iter().find_map(|how| Some((statement.rfind(how)?, *how)));
            match (open, begins) {
                (Some((at, how)), _) => Some((how.trim_end_matches("use "), &statement[at + how.len()..])),
                (None, Some(at)) => Some(("", &statement[at + 4..])),
                (None, None) => None,
            }
        })
    }

    /// Everything of the crate that it names, from the crate's root.
    pub(crate) fn named(&self) -> BTreeSet<Module> {
        let mut paths = Vec::new();
        for (_, tree) in
            self.uses().filter(|(_, tree)| tree.starts_with("crate::") || tree.starts_with("super::"))
        {
            flattened(tree, &[], &mut paths);
        }
        let mut found: Vec<Module> = paths.into_iter().map(|(path, _)| path).collect();
        for start in ["crate::", "super::"] {
            for (at, _) in self.text.match_indices(start) {
                let is_word = |c: char| c.is_alphanumeric() || c == '_' || c == ':';
                let whole: String = self.text[at..].chars().take_while(|c| is_word(*c)).collect();
                let whole = whole.trim_end_matches(':');
                found.push(whole.split("::").map(str::to_owned).collect());
            }
        }
        found.into_iter().map(|path| self.rooted(&path)).filter(|path| !path.is_empty()).collect()
    }

    fn rooted(&self, path: &[String]) -> Module {
        let ups = path.iter().take_while(|part| *part == "super").count();
        if ups == 0 {
            return path[1..].to_vec();
        }
        let mut whole = self.module[..self.module.len().saturating_sub(ups)].to_vec();
        whole.extend_from_slice(&path[ups..]);
        whole
    }
}

/// Which module each name that is passed on comes from.
fn passed_on(sources: &[Source]) -> BTreeMap<Module, Module> {
    let mut found = BTreeMap::new();
    for source in sources {
        for (_, tree) in
            source.uses().filter(|(how, tree)| how.starts_with("pub") && !tree.starts_with("crate"))
        {
            let mut paths = Vec::new();
            flattened(tree, &[], &mut paths);
            for (path, name) in paths {
                let at = |tail: &[String]| [source.module.as_slice(), tail].concat();
                found.insert(at(&[name]), at(&path));
            }
        }
    }
    found
}

/// Which other modules of the crate each one uses, names followed to where they are made; without the crate's own face.
pub(crate) fn homes(sources: &[Source]) -> BTreeMap<Module, BTreeSet<Module>> {
    let (passed, modules) =
        (passed_on(sources), sources.iter().map(|s| s.module.clone()).collect::<BTreeSet<_>>());
    let home = |path: &Module| {
        let mut path = path.clone();
        for _ in 0..6 {
            let Some(n) = (1..=path.len()).rev().find(|n| passed.contains_key(&path[..*n])) else { break };
            path = [passed[&path[..n]].as_slice(), &path[n..]].concat();
        }
        (1..=path.len()).rev().map(|n| path[..n].to_vec()).find(|start| modules.contains(start))
    };
    let mut uses: BTreeMap<Module, BTreeSet<Module>> = BTreeMap::new();
    for source in sources.iter().filter(|source| !source.module.is_empty()) {
        let others = source.named().iter().filter_map(home).filter(|other| *other != source.module).collect();
        uses.insert(source.module.clone(), others);
    }
    uses
}

/// What stands in a circle, or uses one that does.
pub(crate) fn circle(mut uses: BTreeMap<Module, BTreeSet<Module>>) -> Vec<Module> {
    // What uses nothing that is left is taken away; a circle remains.
    while let Some(free) =
        uses.iter().find(|(_, others)| others.iter().all(|other| !uses.contains_key(other)))
    {
        let free = free.0.clone();
        uses.remove(&free);
    }
    uses.into_keys().collect()
}
