//! The templates of the pages. Every text that is filled in is escaped, but for drawings and styles of the program's own making.

use crate::error::{Error, Result};
use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{AutoEscape, Environment, UndefinedBehavior};
use serde::Serialize;

/// The templates, read once.
#[derive(Debug)]
pub struct Templates {
    environment: Environment<'static>,
}

impl Templates {
    /// Reads the built-in templates.
    pub fn new() -> Templates {
        let mut environment = Environment::new();
        // Whatever a template is named, nothing is filled in raw by mistake.
        environment.set_auto_escape_callback(|_| AutoEscape::Html);
        environment.set_undefined_behavior(UndefinedBehavior::Strict);
        let syntax = SyntaxConfig::builder().trim_blocks(true).lstrip_blocks(true).build();
        environment.set_syntax(syntax.expect("a valid syntax"));
        let sources = [
            ("parts.html", include_str!("templates/parts.html")),
            ("sheet.html", include_str!("templates/sheet.html")),
            ("index.html", include_str!("templates/index.html")),
        ];
        for (name, source) in sources {
            environment.add_template(name, source).expect("the built-in templates are valid");
        }
        Templates { environment }
    }

    /// A permit sheet.
    pub fn sheet(&self, values: &impl Serialize) -> Result<String> {
        self.render("sheet.html", values)
    }

    /// The index.
    pub fn index(&self, values: &impl Serialize) -> Result<String> {
        self.render("index.html", values)
    }

    fn render(&self, name: &str, values: &impl Serialize) -> Result<String> {
        let fault = |error: minijinja::Error| {
            let what = format!("the page could not be written: {error:#}; this is a fault of the program");
            Error::input(name, what, "please report it; --sheets none goes on without pages")
        };
        let template = self.environment.get_template(name).map_err(fault)?;
        template.render(Serde(values)).map_err(fault)
    }
}
