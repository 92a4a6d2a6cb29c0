//! The executable: everything is in the library, so that tests can see it.

fn main() -> std::process::ExitCode {
    conewright::main()
}
